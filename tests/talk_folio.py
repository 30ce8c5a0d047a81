"""Makes a folio from a talk that is written down, through every stage, for the tests of what is written from it."""

import json
from datetime import date
from pathlib import Path

from studio import catalogue, folio, pipeline, timecode
from studio.model import Catalogue, Document
from studio.settings import Settings

FIXTURES = Path(__file__).parent / "fixtures" / "written"
SAMPLE = Path(__file__).parent.parent / "sample_media"
WORDS_A_SECOND = 2.5


def captions_of(sentences: list[str]) -> str:
    """Return a WebVTT file in which each sentence is one cue, at 150 words a minute with pauses between."""
    cues, at = [], 1.0
    for sentence in sentences:
        end = at + len(sentence.split()) / WORDS_A_SECOND
        cues.append(f"{timecode.vtt(round(at * 1000))} --> {timecode.vtt(round(end * 1000))}\n{sentence}\n")
        at = end + 0.6
    return "WEBVTT\n\n" + "\n".join(cues)


def box(folder: Path, settings: Settings | None = None) -> Path:
    """Make the folio of the talk about a box, and return its folder."""
    said = (FIXTURES / "box_captions.txt").read_text(encoding="utf-8").splitlines()
    source = folder / "box.vtt"
    source.write_text(captions_of(said), encoding="utf-8")
    own = Settings(names={"Old Mill PVA Glue": "OM-05"})
    return _made(source, FIXTURES / "box_catalogue.csv", date(2026, 4, 20), folder / "box", settings or own)


def sample(folder: Path) -> Path:
    """Make the folio of the sample's talk from its script and times, without hearing it."""
    from studio.settings import load

    told = json.loads((SAMPLE / "script_times.json").read_text(encoding="utf-8"))["sentences"]
    cues = (f"{timecode.vtt(one['start_ms'])} --> {timecode.vtt(one['end_ms'])}\n{one['text']}\n" for one in told)
    source = folder / "sample.vtt"
    source.write_text("WEBVTT\n\n" + "\n".join(cues), encoding="utf-8")
    settings = load(SAMPLE / "settings.toml")
    return _made(source, SAMPLE / "catalogue.csv", date(2026, 3, 5), folder / "sample", settings)


def _made(source: Path, products: Path, recorded: date, folder: Path, settings: Settings) -> Path:
    request = pipeline.Request(
        source=source, folder=folder, catalogue=products, recorded_on=recorded, settings=settings
    )
    return folio.make(request).folder


def read(folder: Path) -> tuple[Document, Catalogue]:
    """Return the document of a folio and the catalogue that the tests made it with."""
    name = SAMPLE / "catalogue.csv" if folder.name == "sample" else FIXTURES / "box_catalogue.csv"
    return folio.read(folder), catalogue.load(name, Settings().catalogue)
