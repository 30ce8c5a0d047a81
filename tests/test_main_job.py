"""The main job on the sample recording, from its sound, held against what a careful listener noted down."""

import json
import os
import subprocess
import sys
from fractions import Fraction
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from studio import folio, resources
from studio.model import Document, schema

pytestmark = pytest.mark.hearing


@pytest.fixture(scope="module")
def document(heard_sample: Path) -> Document:
    """Return what was understood of the sample."""
    return folio.read(heard_sample)


@pytest.fixture(scope="module")
def truth() -> dict[str, Any]:
    """Return the truth of the sample."""
    told: dict[str, Any] = json.loads(resources.sample("truth.json").read_text(encoding="utf-8"))
    return told


def test_just_the_items_shown_are_on_the_supply_list(document: Document, truth: dict[str, Any]) -> None:
    """Every item shown is listed, most of them sure, nothing else is, and the near-identical one is turned down."""
    sure = {row.code for row in document.supplies if row.state == "confirmed"}
    assert {row.code for row in document.supplies} == set(truth["shown"])
    assert 2 * len(sure) > len(truth["shown"])
    rejected = {mention.code for mention in document.mentions if mention.role == "rejected"}
    assert set(truth["rejected"]) <= rejected


def test_every_size_is_exact(document: Document, truth: dict[str, Any]) -> None:
    """Each measure that was said is there with its exact values and its unit, once each."""
    found = [(sorted(measure.values), measure.unit) for measure in document.measures]
    for measure in truth["measures"]:
        wanted = sorted(Fraction(value) for value in measure["values"])
        assert any(values == wanted and unit[:3] == measure["unit"][:3] for values, unit in found), measure["heard"]


def test_the_card_is_scored_where_it_was_said(document: Document, truth: dict[str, Any]) -> None:
    """The cutting list has the card base with its score line."""
    sides = sorted(Fraction(side) for side in truth["score"]["on"])
    (cut,) = [cut for cut in document.cuts if sorted((cut.width, cut.height)) == sides]
    assert cut.scores == (Fraction(truth["score"]["at"]),)


def test_the_last_value_of_a_correction_stands(document: Document, truth: dict[str, Any]) -> None:
    """The number said first and taken back is no measure any more, and the correction is told."""
    corrected = [finding for finding in document.findings if finding.kind == "self_correction"]
    assert len(corrected) == 1
    wrong = Fraction(next(m["replaces"] for m in truth["measures"] if "replaces" in m))
    assert all(measure.values != (wrong,) for measure in document.measures)


def test_the_contradiction_is_found_and_nothing_else_is_called_one(document: Document, truth: dict[str, Any]) -> None:
    """The price that differs from the catalogue is told with both figures; right statements raise nothing."""
    (found,) = [finding for finding in document.findings if finding.kind == "contradiction"]
    assert found.code == truth["contradiction"]["code"]
    assert truth["contradiction"]["heard"] in found.heard
    assert truth["contradiction"]["expected"] in found.expected


def test_the_offer_has_its_threshold_gift_and_dates(document: Document, truth: dict[str, Any]) -> None:
    """The offer is understood whole, and it is the only one."""
    (offer,) = document.offers
    told = offer.model_dump(mode="json")
    assert {name: told[name] for name in truth["offer"]} == truth["offer"]


def test_the_caution_comes_with_its_moment(document: Document, truth: dict[str, Any]) -> None:
    """The customary line of the hazard is there, and each of its times lies in the recording."""
    (caution,) = [caution for caution in document.cautions if caution.hazard == truth["caution"]["hazard"]]
    assert caution.triggers_ms
    assert max(caution.triggers_ms) < document.recording.duration_ms


def test_prices_are_those_of_the_catalogue(document: Document, heard_sample: Path) -> None:
    """No price that was only spoken stands in the post or the description."""
    for name in ("post.md", "description.txt", "newsletter.txt", "social.txt"):
        assert "6.50" not in (heard_sample / name).read_text(encoding="utf-8"), name
    assert str(next(row.price for row in document.supplies if row.code == "PF-1601")) == "7.25"


def test_every_file_is_there_and_fits(heard_sample: Path) -> None:
    """The folio holds every file of the design; `folio.json` fits the published schema; the pictures are there."""
    names = {path.name for path in heard_sample.iterdir()}
    assert names >= {
        "folio.json", "post.md", "post.html", "description.txt", "chapters.txt", "chapters.vtt", "chapters.json",
        "captions.vtt", "captions.srt", "supplies.csv", "cutting.csv", "metadata.jsonld", "report.html", "stills",
    }  # fmt: skip
    stored = json.loads((heard_sample / "folio.json").read_bytes())
    jsonschema.validate(stored, schema.schema())
    assert all((heard_sample / row["still"]).exists() for row in stored["supplies"])


@pytest.fixture(scope="module")
def second_run(heard_sample: Path) -> dict[str, Any]:
    """Make the sample again in a process of its own that notes what it loads and starts."""
    code = """
import json, subprocess, sys
started = []
class Spy(subprocess.Popen):
    def __init__(self, *args, **more):
        started.append(str(args[0] if args else more.get("args")))
        super().__init__(*args, **more)
subprocess.Popen = Spy
from studio import folio, requests
from pathlib import Path
folio.make(requests.sample(Path(sys.argv[1]))(lambda *_: None))
print(json.dumps({"loaded": sorted({name.split(".")[0] for name in sys.modules}), "started": started}))
"""
    command = [sys.executable, "-c", code, str(heard_sample)]
    done = subprocess.run(command, capture_output=True, text=True, check=True, env=dict(os.environ))
    told: dict[str, Any] = json.loads(done.stdout)
    return told


def test_a_second_run_loads_no_model_and_starts_no_decoder(second_run: dict[str, Any]) -> None:
    """With nothing changed, neither the recogniser nor spaCy, ffmpeg, templates or pictures are touched."""
    heavy = {"faster_whisper", "ctranslate2", "onnxruntime", "spacy", "av", "numpy", "ffmpeg", "PIL", "jinja2"}
    assert heavy & set(second_run["loaded"]) == set()
    assert second_run["started"] == []
