"""The picture of the README shows the page that the program draws today."""

from pathlib import Path

import picture
from drawn_pages import DrawnRun, without_numbers

ROOT = Path(__file__).parents[2]


def test_the_picture_of_the_readme_is_of_the_program_as_it_is(tmp_path):
    bench = picture.new_bench(tmp_path)
    run = DrawnRun(bench, picture.begun(bench))
    for keys, wait in picture.acts():
        run.press(*keys)
        run.wait(wait)
    page = [row.text.rstrip() for row in run.page(*picture.SIZE).rows]
    shown = picture.rows_in(picture.FILE.read_text())
    now, then = without_numbers("\n".join(page)), without_numbers("\n".join(shown))
    assert now == then, "draw it anew: python tests/screen/picture.py"


def test_the_readme_shows_the_picture_on_its_first_screen():
    first = "\n".join((ROOT / "README.md").read_text().splitlines()[:40])
    assert f"]({picture.FILE.relative_to(ROOT)})" in first
