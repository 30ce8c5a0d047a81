"""A small talk with something of everything to decide, made into a folio for the tests of the desk."""

import shutil
from datetime import date
from pathlib import Path

from studio import folio
from studio.pipeline import Request

CAPTIONS = """WEBVTT

00:00:01.000 --> 00:00:05.000
Hello everyone, welcome back to my table.

00:00:06.000 --> 00:00:12.000
First up, this is the Hairy Blue Ink, a lovely ink.

00:00:12.500 --> 00:00:15.000
And I've got here the dove card as well.

00:00:15.500 --> 00:00:20.000
Now cut the card at four and a quarter by five and a half inches, and mind your fingers on the knife.

00:00:20.500 --> 00:00:24.000
Cut a second layer an eighth smaller.

00:00:25.000 --> 00:00:30.000
Spend forty pounds and you get the Robin Stamp free until Friday.

00:00:31.000 --> 00:00:35.000
Call me on 07700 900123 if you have a question.

00:00:36.000 --> 00:00:40.000
Right, that's me, bye for now.
"""
UNSURE = """WEBVTT

00:00:01.000 --> 00:00:05.000
First up, I've got here the Dove Card, have a look at this.

00:00:06.000 --> 00:00:10.000
Call me on 07700 900123 if you have a question.
"""
"""A shorter talk, with a name that fits two rows of the catalogue."""
CATALOGUE = """code,name,kind,price,currency,page,url
H1,Heron Blue Ink,ink,4.95,GBP,3,https://shop.example/h1
H2,Heron Grey Ink,ink,4.50,GBP,3,
D1,Dove White Card,card,6.00,GBP,5,
D2,Dove Grey Card,card,6.00,GBP,5,
R1,Robin Stamp,stamp,9.00,GBP,7,
"""


def lay(root: Path, captions: str = CAPTIONS) -> Path:
    """Put the captions and the catalogue into a folder; return the captions."""
    (root / "birds.vtt").write_text(captions, encoding="utf-8")
    (root / "birds.csv").write_text(CATALOGUE, encoding="utf-8")
    return root / "birds.vtt"


def make(root: Path, captions: str = CAPTIONS) -> Path:
    """Make the folio; return its folder."""
    source = lay(root, captions)
    folder = root / "birds-folio"
    folio.make(Request(source, folder, root / "birds.csv", date(2026, 4, 14)))
    return folder


def copied(made: Path, root: Path) -> Path:
    """Copy a folder that was made, so that its folio may be changed and made again where it is now."""
    shutil.copytree(made, root)
    again = root / "birds-folio" / ".work" / "asked.json"
    again.write_text(again.read_text().replace(str(made), str(root)))
    return root
