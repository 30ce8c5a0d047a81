"""The two pages before independent judges: the Nu Html Checker, axe-core in a browser; contrast worked out."""

import re
import shutil
from pathlib import Path

import judged
import pytest
import small_document
import talk_folio
from playwright.sync_api import Browser

from studio import post, report

PAGES = ("post.html", "report.html")


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with the pages of the small document and of the talk about a box."""
    made = tmp_path_factory.mktemp("pages")
    for writer in (post, report):
        files = writer.files(small_document.edition())
        for name, text in files.items():
            if isinstance(text, str):
                (made / name).write_text(text, encoding="utf-8")
    files = post.files(small_document.edition(*small_document.on_a_sheet()))
    (made / "layouts").mkdir()
    for name, text in files.items():
        if name == "post.html" or name.startswith("layouts/"):
            (made / name.replace("post", "cut-post")).write_text(str(text), encoding="utf-8")
    box = talk_folio.box(made)
    for name in PAGES:
        shutil.copy(box / name, made / f"box-{name}")
    return made


@pytest.mark.node
def test_an_independent_checker_finds_nothing_wrong(folder: Path) -> None:
    """The Nu Html Checker, written from the WHATWG text, finds no error and no warning in five pages."""
    pages = [folder / name for name in (*PAGES, *(f"box-{page}" for page in PAGES), "cut-post.html")]
    assert judged.faults_in_html(*pages) == ""


@pytest.mark.browser
@pytest.mark.parametrize("name", [*PAGES, *(f"box-{page}" for page in PAGES), "cut-post.html"])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_a_page_has_no_barrier_that_can_be_found_by_machine(
    browser: Browser, folder: Path, name: str, scheme: str
) -> None:
    """axe-core finds no violation of WCAG 2.2 or of its best practices, light and dark, with everything unfolded."""
    from axe_playwright_python.sync_playwright import Axe

    tab = browser.new_page(color_scheme=scheme)
    tab.goto((folder / name).as_uri())
    tab.evaluate("document.querySelectorAll('details').forEach(one => one.open = true)")
    found = Axe().run(tab)
    tab.close()
    assert found.violations_count == 0, found.generate_report()


@pytest.mark.browser
@pytest.mark.parametrize("name", PAGES)
@pytest.mark.parametrize("width", [320, 1280])
def test_a_page_fits_its_window(browser: Browser, folder: Path, name: str, width: int) -> None:
    """Nothing has to be scrolled sideways at 320 pixels, which is 1280 at 400 % (WCAG 2.2, 1.4.10)."""
    tab = browser.new_page(viewport={"width": width, "height": 800})
    tab.goto((folder / name).as_uri())
    wide = tab.evaluate("document.documentElement.scrollWidth")
    tab.close()
    assert wide <= width


def colours(css: str) -> dict[str, str]:
    """Return the colour variables of a style sheet's block."""
    return dict(re.findall(r"--(\w+): (#[0-9a-f]{3,6})", css))


def contrast(one: str, two: str) -> float:
    """Return the contrast of two colours (WCAG 2.2, definition of contrast ratio and relative luminance)."""

    def luminance(colour: str) -> float:
        digits = colour[1:] if len(colour) == 7 else "".join(digit * 2 for digit in colour[1:])
        parts = [int(digits[at : at + 2], 16) / 255 for at in (0, 2, 4)]
        red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
        return 0.2126 * red + 0.7152 * green + 0.0722 * blue

    light, dark = sorted((luminance(one), luminance(two)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


@pytest.mark.parametrize(("grey", "expected"), [("#767676", 4.54), ("#777777", 4.48), ("#999999", 2.85)])
def test_the_contrast_is_reckoned_as_the_standard_does(grey: str, expected: float) -> None:
    """Known greys on white give the known ratios (WCAG 2.2, 1.4.3)."""
    assert contrast(grey, "#ffffff") == pytest.approx(expected, abs=0.005)


@pytest.mark.parametrize("name", PAGES)
def test_every_colour_of_text_stands_out_from_its_ground(folder: Path, name: str) -> None:
    """Each colour of text has a contrast of 4.5 to 1 on the paper and on the fold, light and dark (WCAG 2.2, 1.4.3)."""
    css = (folder / name).read_text(encoding="utf-8").split("<style>")[1].split("</style>")[0]
    light = colours(css.split("@media (prefers-color-scheme: dark)")[0])
    dark = light | colours(css.split("@media (prefers-color-scheme: dark)")[1].split("}\n}")[0])
    for shades in (light, dark):
        texts = {name: shade for name, shade in shades.items() if name not in {"paper", "fold", "rule"}}
        assert len(texts) >= 4
        for name, shade in texts.items():
            for ground in ("paper", "fold"):
                assert contrast(shade, shades[ground]) >= 4.5, (name, ground)
