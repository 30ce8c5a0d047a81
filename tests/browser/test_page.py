"""The page in a real browser: every view, by keyboard, by mouse, in two windows, on a small screen."""

import json
import re
import time
import zipfile
from collections.abc import Callable
from pathlib import Path

import desk_folio
import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from studio import edits, swap
from studio.edits import kinds
from studio.model import Chapter, Document, Recording, Segment, Sentence, SentenceWord, Transcript, Word

pytestmark = pytest.mark.browser
STEPS = ["Settle", "Table", "Take away", "Ask"]
SHEETS = ["talk", "supplies", "sizes", "offers", "cautions", "left"]


def open_folio(page: Page, desk: str, name: str = "birds-folio") -> None:
    """Go to the folio from the first step."""
    page.goto(desk)
    page.get_by_role("link", name=name).click()
    expect(page.get_by_role("heading", level=1)).to_contain_text(re.compile("question|settled"))


def step(page: Page, name: str) -> None:
    """Go to a step."""
    page.get_by_role("navigation", name="Steps").get_by_role("link", name=name).click()
    expect(page.locator("[aria-current=page]")).to_contain_text(name)


def fresh(page: Page) -> None:
    """Wait until the files hold what was decided."""
    expect(page.locator(".busy")).to_have_count(0, timeout=60_000)


def faults(page: Page) -> list[str]:
    """Return what axe-core finds (WCAG 2.2 A and AA, and its best practices)."""
    found = Axe().run(page).response["violations"]
    return [
        f"{one['id']}: {node['html'][:120]} {node['failureSummary'][:200]}" for one in found for node in one["nodes"]
    ]


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_no_view_has_a_barrier(page: Page, desk: str, scheme: str) -> None:
    """axe-core finds nothing to object to on any view, with forms open and closed, in both colour schemes."""
    page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
    page.goto(desk)
    expect(page.get_by_role("heading", name="A new recording")).to_be_visible()
    page.select_option("#pick-catalogue", index=1)
    expect(page.get_by_text("nothing to complain of")).to_be_visible()
    seen = {"start": faults(page)}
    open_folio(page, desk)
    questions = page.locator(".questions > li")
    for place in range(questions.count()):
        if place:
            questions.nth(place).get_by_role("button").first.click()
        seen[f"settle {place}"] = faults(page)
    step(page, "Table")
    for sheet in SHEETS:
        page.locator(f"#sheet-{sheet}").click()
        if sheet == "talk":
            page.locator(".said .text").nth(1).click()
            page.get_by_role("button", name="Rename").first.click()
        elif change := page.get_by_role("button", name=re.compile("^Change")):
            change.first.click() if change.count() else None
        page.wait_for_timeout(200)
        seen[f"table {sheet}"] = faults(page)
    step(page, "Take away")
    page.get_by_text("Publish all the same").click()
    for name in ("The description", "The post, as a web page"):
        page.get_by_role("button", name=name).click()
        page.wait_for_timeout(200)
        seen[f"take {name}"] = faults(page)
    step(page, "Ask")
    page.get_by_label("A time, or some words").fill("0:16")
    page.keyboard.press("Enter")
    expect(page.locator(".answer")).to_have_count(1)
    page.get_by_label("How is a size understood?").fill("four and a quarter inches")
    page.get_by_role("button", name="Read it").click()
    page.wait_for_timeout(300)
    seen["ask"] = faults(page)
    assert {view: found for view, found in seen.items() if found} == {}


@pytest.mark.parametrize(("width", "zoom"), [(320, 1), (640, 2)], ids=["a phone", "twice as large"])
def test_nothing_runs_off_a_small_screen(page: Page, desk: str, width: int, zoom: int) -> None:
    """At 320 px, and at 640 px with text of twice the size, every view fits without scrolling sideways."""
    page.set_viewport_size({"width": width, "height": 640})
    page.goto(desk)
    expect(page.get_by_role("heading", name="A new recording")).to_be_visible()
    open_folio(page, desk)
    page.add_style_tag(url="/page/desk.css")
    for name in STEPS:
        step(page, name)
        page.evaluate("zoom => { document.documentElement.style.fontSize = `${16 * zoom}px`; }", zoom)
        page.wait_for_timeout(300)
        assert page.evaluate("document.documentElement.scrollWidth") <= width, name
        if name == "Table":
            for sheet in SHEETS:
                page.locator(f"#sheet-{sheet}").click()
                page.wait_for_timeout(150)
                assert page.evaluate("document.documentElement.scrollWidth") <= width, sheet


def test_every_question_is_settled_by_keyboard(page: Page, desk: str, root: Path) -> None:
    """With keys alone each question is answered; the focus goes on to the next; the last answer is taken back."""
    open_folio(page, desk)
    count = page.locator(".questions > li").count()
    assert count >= 2
    for left in range(count, 0, -1):
        expect(page.locator(".questions > li")).to_have_count(left)
        expect(page.locator("#card")).to_be_focused()
        if page.locator("#card .choice kbd").count():
            page.keyboard.press("1")
        else:
            for _ in range(30):
                page.keyboard.press("Tab")
                if page.evaluate("document.activeElement.matches('#card button.main')"):
                    break
            page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="Everything is settled")).to_be_focused()
    fresh(page)
    expect(page.get_by_role("heading", name="Everything is settled")).to_be_visible()
    assert len(edits.load(root / "birds-folio" / "edits.jsonl").in_force) == count
    page.get_by_text("What you decided").click()
    page.get_by_role("button", name="Take the last one back").click()
    expect(page.locator(".questions > li")).to_have_count(1)


def test_a_mended_word_is_mended_everywhere(page: Page, desk: str, root: Path) -> None:
    """A word clicked in the talk and mended is found mended in captions, post and description."""
    open_folio(page, desk)
    step(page, "Table")
    line = page.locator(".said", has_text="Hairy")
    line.focus()
    page.keyboard.press("ArrowRight")
    for _ in range(20):
        if page.locator(".said mark").inner_text().strip(".,") == "Hairy":
            break
        page.keyboard.press("ArrowRight")
    page.get_by_label("Heard: “Hairy”").fill("Heron")
    page.get_by_role("button", name="Mend it everywhere").click()
    expect(page.locator(".said", has_text="Heron Blue Ink")).to_have_count(1)
    fresh(page)
    step(page, "Take away")
    for button, name in (
        ("Captions (WebVTT)", "captions.vtt"),
        ("The post, as Markdown", "post.md"),
        ("The description", "description.txt"),
    ):
        page.get_by_role("button", name=button).click()
        expect(page.locator(".blocks")).to_contain_text("Heron Blue")
        assert "Hairy" not in (root / "birds-folio" / name).read_text()


def test_a_chapter_is_moved_renamed_split_and_joined(page: Page, desk: str, root: Path) -> None:
    """A mark on the ruler moves by arrow keys and by dragging; chapters are renamed, split and joined in the talk."""
    open_folio(page, desk)
    step(page, "Table")
    marks = page.get_by_role("slider")
    before = marks.count()
    first = page.locator(".said").nth(4)
    first.focus()
    page.keyboard.press("ArrowRight")
    page.get_by_role("button", name="A new chapter begins here").click()
    expect(marks).to_have_count(before + 1)
    moved = marks.nth(1)
    old = moved.get_attribute("aria-valuetext")
    moved.focus()
    page.keyboard.press("ArrowRight")
    expect(marks.nth(1)).not_to_have_attribute("aria-valuetext", old or "")
    expect(marks.nth(1)).to_be_focused()
    box, rule = marks.nth(1).bounding_box(), page.locator(".ruler").bounding_box()
    assert box is not None
    assert rule is not None
    by_key = marks.nth(1).get_attribute("aria-valuetext")
    page.mouse.move(box["x"] + box["width"] / 2, box["y"] + 5)
    page.mouse.down()
    page.mouse.move(rule["x"] + rule["width"] * 0.3, box["y"] + 5, steps=5)
    page.mouse.up()
    expect(marks.nth(1)).not_to_have_attribute("aria-valuetext", by_key or "")
    page.get_by_role("button", name=re.compile("^Rename")).nth(1).click()
    page.get_by_label("Title of the chapter").fill("Ink on the table")
    page.get_by_role("button", name="Use this name").click()
    expect(page.get_by_role("heading", name="Ink on the table")).to_be_visible()
    fresh(page)
    expect(page.get_by_role("heading", name="Ink on the table")).to_be_visible()
    assert "Ink on the table" in (root / "birds-folio" / "chapters.txt").read_text()
    page.get_by_role("button", name="Join Ink on the table to the chapter before").click()
    expect(page.get_by_role("heading", name="Ink on the table")).to_have_count(0)


def test_a_chapter_mark_stops_at_its_neighbours(page: Page, start: "object", tmp_path: Path) -> None:
    """However long an arrow key is held, or however far a mark is dragged, no chapter is passed, none is swallowed."""
    long_folio(tmp_path / "long-folio", 2)
    page.goto(start(tmp_path))  # type: ignore[operator]
    address = page.get_by_role("link", name="long-folio").get_attribute("href") or ""
    page.goto(page.url.split("#")[0] + address.replace("settle", "table"))
    marks = page.get_by_role("slider")
    expect(marks).to_have_count(4)
    titles = [marks.nth(place).get_attribute("aria-label") for place in range(4)]
    marks.nth(1).focus()
    for _ in range(12):
        page.keyboard.press("ArrowRight")
    expect(marks.nth(1)).to_have_attribute("aria-valuetext", "0:56")
    page.wait_for_timeout(300)
    expect(marks.nth(1)).to_be_focused()
    for _ in range(20):
        page.keyboard.press("ArrowLeft")
    expect(marks.nth(1)).to_have_attribute("aria-valuetext", "0:04")
    expect(page.get_by_role("alert")).to_contain_text("not known from which recording", timeout=20_000)
    box, rule = marks.nth(2).bounding_box(), page.locator(".ruler").bounding_box()
    assert box is not None
    assert rule is not None
    page.mouse.move(box["x"] + box["width"] / 2, box["y"] + 5)
    page.mouse.down()
    page.mouse.move(rule["x"] + rule["width"], box["y"] + 5, steps=5)
    page.mouse.up()
    expect(marks.nth(2)).to_have_attribute("aria-valuetext", "1:28")
    assert [marks.nth(place).get_attribute("aria-label") for place in range(4)] == titles
    expect(page.get_by_text("another window")).to_have_count(0)


def test_the_history_opens_wherever_the_page_was_opened(page: Page, desk: str, root: Path) -> None:
    """Opened or loaded again at the table, the page still lists what was decided and takes the last ones back."""
    open_folio(page, desk)
    step(page, "Table")
    for title in ("One", "Two"):
        page.get_by_role("button", name=re.compile("^Rename")).first.click()
        page.get_by_label("Title of the chapter").fill(title)
        page.get_by_role("button", name="Use this name").click()
        expect(page.get_by_role("heading", name=title, exact=True)).to_be_visible()
    page.reload()
    page.get_by_text("What you decided").click()
    expect(page.get_by_text("A chapter is called “Two”")).to_be_visible()
    page.get_by_role("button", name="Take the last one back").click()
    expect(page.get_by_role("heading", name="Two", exact=True)).to_have_count(0)
    fresh(page)
    expect(page.get_by_role("heading", name="One", exact=True)).to_be_visible()
    page.get_by_role("button", name="Take the last one back").click()
    fresh(page)
    expect(page.get_by_role("heading", name="One", exact=True)).to_have_count(0)
    expect(page.get_by_role("button", name="Take the last one back")).to_be_disabled()
    assert edits.load(root / "birds-folio" / "edits.jsonl").in_force == ()


def press_down_to(page: Page, text: str) -> bool:
    """Go on to the next question, unless this is the one with the text."""
    if text in page.locator("#card").inner_text():
        return True
    page.keyboard.press("ArrowDown")
    return False


@pytest.mark.parametrize("keys", ["111", "1u1", "nu0"])
def test_quick_keys_are_no_other_window(page: Page, start: "object", tmp_path: Path, keys: str) -> None:
    """Keys pressed faster than the desk answers are taken one after the other; none of them is set aside."""
    folder = desk_folio.make(tmp_path, desk_folio.UNSURE)
    open_folio(page, start(tmp_path))  # type: ignore[operator]
    until(lambda: press_down_to(page, "Which one is “Dove Card”"), page)
    page.locator("#card").focus()
    page.evaluate("""(keys) => {
        const real = window.fetch;
        const later = () => new Promise((done) => setTimeout(done, 150));
        window.fetch = async (...asked) => { await later(); return real(...asked); };
        const pressed = (key) => new KeyboardEvent("keydown", { key, bubbles: true, cancelable: true });
        for (const key of keys) document.activeElement.dispatchEvent(pressed(key));
    }""", keys)  # fmt: skip
    wanted = ["mention_decided"] if keys == "111" else ["mention_decided", "undo", "mention_decided"]
    until(lambda: len(edits.load(folder / "edits.jsonl").made) >= len(wanted), page)
    page.wait_for_timeout(600)
    assert page.get_by_role("alert").count() == 0
    kept = edits.load(folder / "edits.jsonl")
    assert [edit.kind for edit in kept.made] == wanted
    assert len(kept.in_force) == 1


def test_damage_is_told_until_it_was_looked_at(page: Page, desk: str, root: Path) -> None:
    """Damage among the decisions stands on every step where one decides or takes away, and goes when it was seen."""
    edits.append(root / "birds-folio" / "edits.jsonl", kinds.ChapterRenamed(start_ms=0, title="Hello"))
    with (root / "birds-folio" / "edits.jsonl").open("ab") as log:
        log.write(b"torn")
    open_folio(page, desk)
    for name in ("Settle", "Table", "Take away"):
        step(page, name)
        expect(page.get_by_text("Line 2 of edits.jsonl is damaged")).to_be_visible()
    page.reload()
    page.get_by_role("button", name="I have looked at it").click()
    expect(page.get_by_text("is damaged")).to_have_count(0)
    page.reload()
    expect(page.get_by_role("heading", name="Take the result away")).to_be_visible()
    expect(page.get_by_text("is damaged")).to_have_count(0)


def test_the_other_sheets_take_decisions(page: Page, desk: str, root: Path) -> None:
    """Supplies are counted and added, a piece is cut, a caution is written, a sentence is put back."""
    open_folio(page, desk)
    step(page, "Table")
    page.locator("#sheet-supplies").click()
    page.get_by_role("button", name="Something is missing").click()
    page.get_by_label("Name, code or colour").fill("heron gr")
    page.get_by_role("button", name="Heron Grey Ink").click()
    page.get_by_label("How many of Heron Grey Ink").fill("3")
    page.keyboard.press("Tab")
    page.locator("#sheet-sizes").click()
    page.get_by_role("button", name="Add a piece").click()
    page.get_by_label("Size", exact=True).fill("4 1/8 x 5 3/8")
    page.get_by_label("Of what").fill("Kraft card")
    page.get_by_label("Score at").fill("2 1/16")
    page.get_by_role("button", name="Use this").click()
    expect(page.get_by_role("img", name="1 of Kraft card, 4 1/8 × 5 3/8 in, scored at 2 1/16 in")).to_be_visible()
    page.locator("#sheet-cautions").click()
    page.get_by_label("A caution in your own words").fill("Keep the ink off the cloth.")
    page.get_by_role("button", name="Add it").click()
    page.locator("#sheet-left").click()
    page.get_by_role("button", name=re.compile("Hello everyone")).focus()
    page.keyboard.press("Enter")
    fresh(page)
    stored = json.loads((root / "birds-folio" / "folio.json").read_bytes())
    assert {"H2": 3}.items() <= {row["code"]: row["quantity"] for row in stored["supplies"]}.items()
    assert {"material": "Kraft card", "width": "33/8", "height": "43/8", "scores": ["33/16"]}.items() <= next(
        cut for cut in stored["cuts"] if cut["material"] == "Kraft card"
    ).items()
    assert "Keep the ink off the cloth." in (root / "birds-folio" / "post.md").read_text()
    assert "Hello everyone" in (root / "birds-folio" / "post.md").read_text()


def until(met: Callable[[], object], page: Page, seconds: int = 20) -> None:
    """Let the page work until something is so."""
    deadline = time.monotonic() + seconds
    while not met():
        assert time.monotonic() < deadline, "it never came to be so"
        page.wait_for_timeout(50)


def test_two_windows_lose_nothing(page: Page, desk: str, root: Path) -> None:
    """The second window is told that the first decided otherwise; its answer is kept and can be used."""
    open_folio(page, desk)
    step(page, "Table")
    page.locator("#sheet-supplies").click()
    page.get_by_label(re.compile("How many of Robin|How many of")).first.wait_for()
    other = page.context.new_page()
    open_folio(other, desk)
    step(other, "Table")
    other.locator("#sheet-supplies").click()
    for window, many in ((page, "2"), (other, "5")):
        window.get_by_label(re.compile("^How many of")).first.fill(many)
        window.keyboard.press("Tab")
        until(lambda: edits.load(root / "birds-folio" / "edits.jsonl").made, window)
    expect(other.get_by_role("alert")).to_contain_text("decided in another window")
    assert [edit.kind for edit in edits.load(root / "birds-folio" / "edits.jsonl").made] == ["supply_set", "set_aside"]
    other.get_by_role("button", name="Use mine").click()
    expect(other.get_by_role("alert")).to_have_count(0)
    kept = edits.load(root / "birds-folio" / "edits.jsonl").in_force
    assert [edit.quantity for edit in kept if isinstance(edit, kinds.SupplySet)] == [2, 5]
    other.close()


def test_an_answer_is_drawn_in_place(page: Page, desk: str) -> None:
    """After a decision the view is drawn anew without loading the page again; the time it took is printed."""
    open_folio(page, desk)
    step(page, "Table")
    page.locator("#sheet-cautions").click()
    page.get_by_label("A caution in your own words").fill("Mind the glue.")
    page.evaluate("window.samePage = true")
    took = page.evaluate("""() => new Promise((done) => {
        const began = performance.now();
        const seen = () => document.getElementById("view").textContent.includes("Mind the glue.");
        const look = () => seen() && requestAnimationFrame(() => done(performance.now() - began));
        new MutationObserver(look).observe(document.getElementById("view"), { childList: true, subtree: true });
        document.querySelector("[data-focus='caution-add']").click();
    })""")
    assert page.evaluate("window.samePage") is True
    print(f"drawn after {took:.0f} ms")


def test_the_door_names_what_is_open(page: Page, desk: str) -> None:
    """Publishing is blocked with the reasons; a name and a reason open it; withdrawing closes it."""
    open_folio(page, desk)
    step(page, "Take away")
    expect(page.get_by_role("heading", name=re.compile("blocks? publishing"))).to_be_visible()
    page.get_by_text("Publish all the same").click()
    page.get_by_label("Your name").fill("Wren Sample")
    page.get_by_label("Why it is right so").fill("Checked on paper")
    page.get_by_role("button", name="I answer for it").click()
    expect(page.get_by_text("Wren Sample will publish all the same: Checked on paper")).to_be_visible()
    page.get_by_role("button", name="Withdraw this").click()
    expect(page.get_by_role("heading", name=re.compile("blocks? publishing"))).to_be_visible()


def long_folio(folder: Path, minutes: int = 120) -> None:
    """Write the folio of a talk: a sentence of nine words every four seconds, a chapter every five minutes or 30 s."""
    said, parts, every = [], [], 300_000 if minutes >= 10 else 30_000
    for n in range(minutes * 15):
        at, text = n * 4000, f"This is sentence {n} of a rather long talk."
        words, start = [], 0
        for place, word in enumerate(text.split()):
            times = {"start_ms": at + 400 * place, "end_ms": at + 400 * place + 350}
            words.append(SentenceWord(**times, text=word, start=start, end=start + len(word)))
            start += len(word) + 1
        said.append(Sentence(index=n, text=text, words=tuple(words), start_ms=at, end_ms=at + 3550))
        heard = tuple(Word(start_ms=w.start_ms, end_ms=w.end_ms, text=w.text) for w in words)
        parts.append(Segment(start_ms=at, end_ms=at + 3550, text=text, words=heard))
    document = Document(
        recording=Recording(source="long.mp4", sha256="0", duration_ms=minutes * 60_000),
        transcript=Transcript(language="en", recogniser="generated", segments=tuple(parts)),
        sentences=tuple(said),
        chapters=tuple(Chapter(start_ms=n * every, title=f"Part {n + 1}") for n in range(minutes * 60_000 // every)),
    )
    folder.mkdir()
    swap.write(folder, {"folio.json": document.model_dump_json().encode()}, "test")


def test_two_hours_open_whole_and_scroll(page: Page, start: "object", tmp_path: Path) -> None:
    """The desk shows 1,800 sentences and lays out only those in view; opening and scrolling times are printed."""
    long_folio(tmp_path / "long-folio")
    page.goto(start(tmp_path))  # type: ignore[operator]
    link = page.get_by_role("link", name="long-folio")
    address = (link.get_attribute("href") or "").replace("settle", "table")
    took = page.evaluate("""(address) => new Promise((done) => {
        const began = performance.now();
        const all = () => document.querySelectorAll(".said").length >= 1800;
        const end = () => requestAnimationFrame(() => done(performance.now() - began));
        const look = () => (all() ? end() : setTimeout(look, 5));
        window.location.hash = address;
        look();
    })""", address)  # fmt: skip
    last = page.locator(".said").last
    far = "(said) => getComputedStyle(said).contentVisibility === 'auto'"
    assert last.evaluate(far), "what is out of view must not be laid out"
    gaps = page.evaluate("""() => new Promise((done) => {
        const gaps = [];
        let last = performance.now();
        const end = document.documentElement.scrollHeight - window.innerHeight;
        const turn = (now) => {
            gaps.push(now - last);
            last = now;
            window.scrollTo(0, Math.min(end, gaps.length * end / 120));
            if (gaps.length < 120) requestAnimationFrame(turn); else done(gaps.slice(2));
        };
        requestAnimationFrame(turn);
    })""")
    print(f"opened in {took:.0f} ms; frames: median {sorted(gaps)[len(gaps) // 2]:.0f} ms, longest {max(gaps):.0f} ms")


@pytest.mark.slow
@pytest.mark.hearing
def test_from_drop_to_zip(page: Page, start: "object", tmp_path: Path) -> None:
    """The whole journey on the sample: dropped, heard, the page loaded anew meanwhile, settled, taken away as a zip."""
    from studio import resources

    page.goto(start(tmp_path))  # type: ignore[operator]
    page.get_by_label("Drop the recording here").set_input_files(resources.sample("recording.mp4"))
    expect(page.locator("#pick-recording")).to_contain_text("recording.mp4", timeout=30_000)
    page.locator("[data-focus='file-catalogue']").set_input_files(resources.sample("catalogue.csv"))
    expect(page.get_by_text(re.compile("products read|can be used"))).to_be_visible(timeout=30_000)
    page.get_by_label("Recorded on").fill("2026-03-03")
    page.get_by_role("button", name="Make it").click()
    expect(page.get_by_role("heading", name=re.compile("At work"))).to_be_visible(timeout=20_000)
    page.reload()
    expect(page.get_by_role("heading", name=re.compile("At work"))).to_be_visible()
    page.get_by_role("link", name="Settle what is open").click(timeout=400_000)
    expect(page.get_by_role("heading", level=1)).to_contain_text(re.compile("question|settled"))
    deadline = time.monotonic() + 120
    while page.locator("#card").count() and time.monotonic() < deadline:
        left = page.locator(".questions > li").count()
        if page.locator("#card .choice kbd").count():
            page.keyboard.press("1")
        else:
            page.locator("#card button.main").click()
        expect(page.locator(".questions > li")).not_to_have_count(left)
    fresh(page)
    step(page, "Table")
    expect(page.locator("video")).to_be_visible(timeout=60_000)
    page.wait_for_function("document.querySelector('video').readyState > 1")
    step(page, "Take away")
    with page.expect_download() as given:
        page.get_by_role("link", name="Everything as one zip").click()
    names = zipfile.ZipFile(given.value.path()).namelist()
    wanted = {"folio.json", "post.html", "captions.vtt", "edits.jsonl", "description.txt"}
    assert wanted <= {name.split("/")[-1] for name in names}
    assert any("/stills/" in name for name in names)
