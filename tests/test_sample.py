"""The sample: what it must hold so that it shows the whole job, and so that tests can compare with it."""

import itertools
import json
import tomllib
from fractions import Fraction
from typing import Any

import pytest

from studio import catalogue, media, resources, settings
from studio.model import Catalogue
from studio.settings import CatalogueChoices

RECORDING = resources.sample("recording.mp4")


@pytest.fixture(scope="module")
def times() -> dict[str, Any]:
    """Return the true times that were written when the recording was made."""
    told: dict[str, Any] = json.loads(resources.sample("script_times.json").read_text(encoding="utf-8"))
    return told


@pytest.fixture(scope="module")
def truth() -> dict[str, Any]:
    """Return what a careful listener would note down."""
    told: dict[str, Any] = json.loads(resources.sample("truth.json").read_text(encoding="utf-8"))
    return told


@pytest.fixture(scope="module")
def products() -> Catalogue:
    """Return the catalogue of the sample."""
    return catalogue.load(resources.sample("catalogue.csv"), CatalogueChoices())


def test_the_recording_is_small_and_plays_everywhere(times: dict[str, Any], truth: dict[str, Any]) -> None:
    """It has 1280 by 720 pixels, two to three minutes, less than 6 MB and its index first; browsers play it."""
    found = media.probe(RECORDING)
    assert (found.width, found.height, str(found.recorded_on)) == (1280, 720, truth["recorded_on"])
    assert 120_000 <= found.duration_ms <= 180_000
    assert abs(found.duration_ms - times["duration_ms"]) < 100
    data = RECORDING.read_bytes()
    assert len(data) < 6_000_000
    assert data.index(b"moov") < data.index(b"mdat")
    assert media.browser_plays(RECORDING)


def test_the_true_times_belong_to_the_script(times: dict[str, Any]) -> None:
    """Sentences, items and blurred stretches are those of the script, in order and inside the recording."""
    script = tomllib.loads(resources.sample("script.toml").read_text(encoding="utf-8"))["sentence"]
    assert [one["text"] for one in times["sentences"]] == [one["text"] for one in script]
    ends = [moment for one in times["sentences"] for moment in (one["start_ms"], one["end_ms"])]
    assert ends == sorted(ends)
    spoken = {one["start_ms"] for one in times["sentences"]}
    assert {one["start_ms"] for one in (*times["chapters"], *times["shown"])} <= spoken
    assert len(times["blurred_ms"]) >= 5
    assert all(0 <= start < end <= times["duration_ms"] for start, end in (*times["blurred_ms"], *times["hands_ms"]))


def test_the_sentences_are_where_the_sound_is(times: dict[str, Any]) -> None:
    """The pauses of the script are quiet in the recording, and its sentences are not."""
    import numpy as np

    from studio.model import Span

    sentences = times["sentences"]
    gaps = [Span(start_ms=a["end_ms"] + 80, end_ms=b["start_ms"] - 20) for a, b in itertools.pairwise(sentences)]
    spans = [Span(start_ms=one["start_ms"], end_ms=one["end_ms"]) for one in sentences]
    loud = [float(np.abs(sound).mean()) for sound in media.stretches(RECORDING, spans)]
    quiet = [float(np.abs(sound).mean()) for sound in media.stretches(RECORDING, gaps)]
    assert min(loud) > 5 * max(quiet)


def test_what_is_true_is_in_the_catalogue(truth: dict[str, Any], products: Catalogue, times: dict[str, Any]) -> None:
    """Codes exist, the items shown are those of the script, and the contradiction and the offer are real ones."""
    rows = products.by_code()
    codes = [
        *truth["shown"],
        *truth["gift"],
        *truth["rejected"],
        *truth["rejected_in_part"],
        *truth["caution"]["codes"],
    ]
    assert set(codes) <= set(rows)
    assert sorted(item["code"] for item in times["shown"]) == sorted(truth["shown"])
    wrong = truth["contradiction"]
    assert str(rows[wrong["code"]].price) == wrong["expected"] != wrong["heard"]
    assert {rows[code].hazard for code in truth["caution"]["codes"]} == {truth["caution"]["hazard"]}
    (offer,) = settings.load(resources.sample("settings.toml")).offers
    told = truth["offer"]
    assert (offer.kind, offer.reward_code, str(offer.starts_on), str(offer.ends_on)) == (
        told["kind"], told["reward_code"], told["starts_on"], told["ends_on"],
    )  # fmt: skip
    assert offer.threshold == int(told["threshold"])


def test_what_is_true_was_said(truth: dict[str, Any], products: Catalogue, times: dict[str, Any]) -> None:
    """Each name and each size that is noted down is a sentence of the script, word for word."""
    said = " ".join(one["text"] for one in times["sentences"])
    rows = products.by_code()
    assert [code for code in (*truth["shown"], *truth["gift"], *truth["rejected"]) if rows[code].name not in said] == []
    assert [one["heard"] for one in truth["measures"] if one["heard"] not in said] == []
    assert all(Fraction(value) > 0 for one in truth["measures"] for value in one["values"])


def test_names_are_easily_taken_for_each_other(products: Catalogue) -> None:
    """At least thirty names have a neighbour that differs in one word only."""
    names = [row.name.split() for row in products.products]
    alike = [
        one
        for one in names
        if any(len(one) == len(other) and sum(a != b for a, b in zip(one, other, strict=True)) == 1 for other in names)
    ]
    assert len(alike) >= 30
