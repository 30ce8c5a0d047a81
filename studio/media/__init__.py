"""The only door to ffmpeg and PyAV: what a recording holds, its sound, its pictures, and copies made from it.

    probing    what a file holds, without decoding it            -> Recording
    sound      16 kHz mono sound, decoded by a child process     -> Sound
    pictures   frames at given times, how sharp, lit and still   -> Frame, Figures
    copies     chapters written into a copy; a small browser copy
    decoder    the one place that starts ffmpeg, and its arguments

Every file is hostile until shown otherwise: `media_args` gives each ffmpeg call its input options, decoding happens in
a child process with a time and a memory limit, and a child that dies is a clear refusal.
"""

from studio.media.copies import browser_plays, proxy, with_chapters
from studio.media.decoder import media_args
from studio.media.pictures import (
    Figures,
    Frame,
    difference,
    encoded,
    figures,
    frames,
    frames_by_number,
    moments,
    save_still,
    scene_changes,
)
from studio.media.probing import probe
from studio.media.sound import Sound, sound, stretches

VERSION = 1

__all__ = [
    "VERSION",
    "Figures",
    "Frame",
    "Sound",
    "browser_plays",
    "difference",
    "encoded",
    "figures",
    "frames",
    "frames_by_number",
    "media_args",
    "moments",
    "probe",
    "proxy",
    "save_still",
    "scene_changes",
    "sound",
    "stretches",
    "with_chapters",
]
