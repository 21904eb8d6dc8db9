"""The picture of the README: a run of an invented workshop on the real screen.

`python tests/screen/picture.py` draws it anew as `tests/screen/picture.svg`.
"""

import asyncio
import re
import tempfile
from dataclasses import replace
from html import unescape
from pathlib import Path

from screen_bench import LOOK, Bench, press, show_run

HERE = Path(__file__).parent
FILE = HERE / "picture.svg"
SIZE = (120, 34)
ARMS = ["arm 1", "arm 2", "arm 3", "arm 4"]
MINUTE = 60_000
CELL, ROW, FIRST = 12.2, 24.4, 20
"""The width and the height of a cell of the picture, and where its first row stands."""


def new_bench(folder: Path, theme: str = "dark") -> Bench:
    """The shop in which it runs."""
    return Bench(folder, look=replace(LOOK, theme=theme))


def begun(bench: Bench):
    """The run that is shown."""
    return bench.begin(HERE / "procedures" / "every-state.yaml", ARMS)


def acts():
    """The acts that lead to what is shown: the keys of each, and how long is waited after them.

    Two arms hang on the rail with their first coat, two are in the tub, tended once.
    """
    yield ["enter", "1"], 0
    yield [".", "1", "2", "enter", "enter"], 2 * MINUTE
    for _ in range(5):
        yield ["enter"], 2 * MINUTE
    yield ["enter"], 5000  # tended once more, then out
    yield ["enter"], 5000
    yield ["enter"], 5000  # the others in, then these two rinsed, coated, on the rail
    for _ in range(3):
        yield ["enter"], 10_000
    yield [], 100_000
    yield ["enter"], 90_000


async def drawn(folder: Path, theme: str = "dark") -> str:
    """The picture as SVG."""
    bench = new_bench(folder, theme)
    async with bench.app.run_test(size=SIZE) as pilot:
        session = begun(bench)
        await show_run(bench.app, session)
        for keys, wait in acts():
            await press(pilot, *keys)
            bench.clock.wait(wait)
            bench.app.screen.tick()
        await pilot.pause()
        return _with_fixed_blanks(bench.app.export_screenshot(title="benchrun"))


def _with_fixed_blanks(svg: str) -> str:
    """The picture with blanks that no viewer draws together."""
    return svg.replace("<svg ", '<svg xml:space="preserve" ', 1)


def rows_in(svg: str) -> list[str]:
    """The rows of text in a picture, each word in its column."""
    found = re.findall(r'<text class="[^"]*-r\d+" x="([\d.]+)" y="([\d.]+)"[^>]*>([^<]*)', svg)
    rows = [""] * SIZE[1]
    for x, y, text in found:
        at = round((float(y) - FIRST) / ROW)
        rows[at] = rows[at].ljust(round(float(x) / CELL)) + unescape(text).replace("\xa0", " ")
    return [row.rstrip() for row in rows]


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as folder:
        FILE.write_text(asyncio.run(drawn(Path(folder))))
