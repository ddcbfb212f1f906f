"""The set screen in a real browser without a window: keys, touch, ticks that outlive a reload, no network.

Screenshots are left in the folder that STRIDERULE_PICTURES names, to be looked at.
"""

from __future__ import annotations

import os
import shutil
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from playwright.sync_api import sync_playwright

from striderule.model.seeds import starter_paths
from striderule.model.shotfile import load_shot
from striderule.paper.sheets import SheetOptions, sheet_files
from striderule.solve import solve

TABLET = {"width": 1024, "height": 768}
UPRIGHT = {"width": 768, "height": 1024}
PHONE = {"width": 412, "height": 840}


def page_of(folder: Path, starter: str = "heron", **changes: object) -> Path:
    shot = replace(load_shot(starter_paths()[starter]), **changes)
    options = SheetOptions(date(2026, 11, 25), only=("screen",))
    path = folder / "set.html"
    path.write_bytes(sheet_files(solve(shot), f"{starter}.toml", options)["set.html"])
    return path


@pytest.fixture(scope="session")
def chromium():
    with sync_playwright() as play:
        own = Path(play.chromium.executable_path)
        found = own if own.exists() else shutil.which("chromium") or shutil.which("google-chrome")
        yield play.chromium.launch(executable_path=found, args=["--no-sandbox"])  # a build server runs as root


@pytest.fixture
def screen(chromium, tmp_path):
    """screen(path, size) opens a page; whatever it asked of a network or wrote as an error fails the test."""
    asked: list[str] = []
    context = chromium.new_context(viewport=TABLET, has_touch=True, offline=True)

    def opened(path: Path, size: dict[str, int] = TABLET):
        page = context.new_page()
        page.set_viewport_size(size)
        page.on("request", lambda one: asked.append(one.url) if not one.url.startswith("file:") else None)
        page.on("pageerror", lambda error: asked.append(str(error)))
        page.on("console", lambda said: asked.append(said.text) if said.type == "error" else None)
        page.goto(path.as_uri())
        return page

    yield opened
    context.close()
    assert asked == []


def pictured(page, name: str) -> None:
    folder = os.environ.get("STRIDERULE_PICTURES")
    if folder:
        page.screenshot(path=str(Path(folder) / f"{name}.png"))


def nothing_cut_off(page) -> list[str]:
    """Ids of elements that reach out of the window, and names of what hides or covers words."""
    return page.evaluate("""() => {
        const told = document.getElementById("told"), left = document.querySelector("#main > div");
        const a = left.getBoundingClientRect(), b = told.getBoundingClientRect();
        const lowest = Math.max(...[...left.children].map(one => one.getBoundingClientRect().bottom));
        const wide = Math.max(...[...left.children].map(one => one.scrollWidth));
        const found = [];
        if (told.scrollHeight > told.clientHeight + 1) found.push("told is too long");
        if (b.left < a.left + wide && b.top < lowest - 2) found.push("told is covered");
        return found.concat([...document.querySelectorAll("#main *, #numbers *, nav *")].filter(one => {
        const box = one.getBoundingClientRect();
        return box.width > 0 && (box.right > innerWidth + 1 || box.left < -1 || box.bottom > innerHeight + 1);
    }).map(one => one.id || one.tagName)); }""")


def test_keys_and_a_foot_pedals_keys_go_from_pose_to_pose(screen, tmp_path):
    page = screen(page_of(tmp_path))
    at = lambda: page.inner_text("#pose")  # noqa: E731
    seen = [at()]
    for key in ("ArrowRight", "PageDown", "ArrowDown", "ArrowLeft", "PageUp", "End", "ArrowRight", "Home", "ArrowLeft"):
        page.keyboard.press(key)
        seen.append(at())
    assert seen == ["1", "2", "3", "4", "3", "2", "37", "37", "1", "1"]
    pictured(page, "first")
    assert nothing_cut_off(page) == []


def test_it_says_what_the_exposure_sheet_says(screen, tmp_path):
    page = screen(page_of(tmp_path))
    page.keyboard.press("ArrowRight")
    assert page.inner_text("#key") == "down"
    assert page.inner_text("#frame") == "frame 2"
    assert page.inner_text("#code") == "00:00:00:01"
    assert "13.5" in page.inner_text("#numbers")
    assert "left heel up 25 deg" in page.inner_text("#do")
    assert "heron.toml" in page.inner_text("#origin")
    assert page.locator("#picture polygon").count() > 10


def test_a_tick_goes_on_to_the_next_pose_and_outlives_a_reload(screen, tmp_path):
    page = screen(page_of(tmp_path))
    page.keyboard.press("Enter")
    page.keyboard.press(" ")
    assert page.inner_text("#pose") == "3"
    assert page.inner_text("#time").startswith("35 of 37 poses left")
    page.reload()
    assert page.inner_text("#pose") == "3"
    assert page.inner_text("#time").startswith("35 of 37 poses left")
    page.keyboard.press("ArrowLeft")
    assert page.inner_text("#ticked") == "[x] shot"
    page.keyboard.press("Backspace")
    assert page.inner_text("#ticked") == "[ ] not shot"
    page.keyboard.press("u")
    assert page.inner_text("#time").startswith("37 of 37 poses left")


def test_on_twos_every_frame_is_ticked(screen, tmp_path):
    page = screen(page_of(tmp_path, frames_per_pose=2))
    assert page.inner_text("#frame") == "frame 1 (1-2)"
    page.keyboard.press("Enter")
    assert page.inner_text("#pose") == "1"
    assert page.inner_text("#frame") == "frame 2 (1-2)"
    page.keyboard.press("Enter")
    assert page.inner_text("#pose") == "2"


def test_the_black_screen_wakes_on_any_key_or_tap_which_does_nothing_else(screen, tmp_path):
    page = screen(page_of(tmp_path))
    for wake in (lambda: page.keyboard.press("ArrowRight"), lambda: page.touchscreen.tap(600, 700),
                 lambda: page.keyboard.press("q")):  # fmt: skip
        page.keyboard.press("b")
        assert page.locator("#black").is_visible()
        shot = page.screenshot()
        assert len(set(pixels(shot))) == 1  # nothing but black
        wake()
        assert not page.locator("#black").is_visible()
        assert page.inner_text("#pose") == "1"


def pixels(png: bytes) -> list[tuple[int, ...]]:
    from striderule.draw.png import decode

    picture = decode(png)
    return [tuple(one) for one in picture.reshape(-1, picture.shape[-1])[::997].tolist()]


def test_touch_and_the_dim_red_theme(screen, tmp_path):
    page = screen(page_of(tmp_path))
    page.tap("#next")
    page.tap("#tick")
    assert page.inner_text("#pose") == "3"
    page.tap("#previous")
    assert page.inner_text("#pose") == "2"
    page.tap("#dim")
    pictured(page, "red")
    colours = page.evaluate(
        """() => [...document.querySelectorAll("body *")].map(one => getComputedStyle(one).color)"""
    )
    for colour in set(colours):
        red, green, blue = (int(part) for part in colour.strip("rgba()").split(",")[:3])
        assert max(green, blue) <= 30 < red < 200
    page.reload()
    assert "red" in page.get_attribute("body", "class")


@pytest.mark.parametrize("size", [TABLET, UPRIGHT, PHONE], ids=["lying", "upright", "phone"])
@pytest.mark.parametrize("name", ["heron", "tapir", "lamplighter-stair"])
def test_nothing_is_cut_off_with_a_long_name_on_any_screen(screen, tmp_path, name, size):
    long = "A very long name of a shot that nobody can read from two metres " * 3
    page = screen(page_of(tmp_path, name, name=long), size)
    for k in range(8):
        pictured(page, f"{name}-{size['width']}-{k + 1}")
        assert nothing_cut_off(page) == [], k
        page.keyboard.press("ArrowRight")


def test_names_that_look_like_markup_are_words(screen, tmp_path):
    page = screen(page_of(tmp_path, name='</script><img src=x onerror="alert(1)"> & <b>'))
    assert page.inner_text("#shot").startswith('</script><img src=x onerror="alert(1)"> & <b>')
    assert page.locator("img").count() == 0


def test_400_poses_answer_at_once(screen, tmp_path):
    shot = load_shot(starter_paths()["heron"])
    page = screen(page_of(tmp_path, walk=replace(shot.walk, steps=67)))
    page.keyboard.press("End")
    assert page.inner_text("#pose") == "403"
    took = page.evaluate("""() => { const start = performance.now();
        for (let k = 0; k < 50; k++) dispatchEvent(new KeyboardEvent("keydown", { key: "ArrowLeft" }));
        return (performance.now() - start) / 50; }""")
    assert page.inner_text("#pose") == "353"
    assert took < 100
