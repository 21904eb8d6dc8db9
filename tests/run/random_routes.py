"""Random procedures for the random runs: written as an author writes them, read by the loader."""

import json
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from benchrun.procedure.load import ProcedureError, load_bytes
from benchrun.procedure.route import Route

MINUTE = 60_000
Pick = Callable[[int], int]
Item = dict[str, Any]
GUESSES = {"good": ("go on",), "fair": (), "bad": ()}
KINDS = {
    "left": {"title": "left arm", "values": {"reach": "12 mm", "rest": "4 min", "stamp": "L"}},
    "right": {"title": "right arm", "values": {"reach": "8 mm", "rest": "6 min", "stamp": "R"}},
}
FIGURES = {
    "wear": {"ask": "Wear that is allowed.", "unit": "mm", "plausible": "2 mm to 18 mm"},
    "pot_life": {"ask": "How long the mix keeps.", "unit": "min", "without": "go on"},
}
VESSELS = {
    "tub": {"title": "etching tub", "holds": 3},
    "oven": {"title": "oven"},
    "rack": {"title": "rack", "holds": 2},
}


@dataclass(frozen=True, slots=True)
class Written:
    """A name that a step wrote: where, and whether it holds several values."""

    name: str
    within: tuple[str, ...]
    grid: bool = False


@dataclass(slots=True)
class Author:
    """Writes one procedure; `pick(n)` chooses a number from 0 below n.

    Attributes:
        items: What it wrote, the block it is at last.
        readings, findings: The names so far, in mm and in words.
        sources: The steps so far that a window or a rework may name.
        within: The repeats it is in, outermost first.
        load: Whether it is in a load.
    """

    pick: Pick
    items: list[Item] = field(default_factory=list)
    readings: list[Written] = field(default_factory=list)
    findings: list[Written] = field(default_factory=list)
    sources: list[str] = field(default_factory=list)
    dwells: set[str] = field(default_factory=set)
    within: tuple[str, ...] = ()
    load: bool = False
    named: int = 0
    kinds: bool = False
    figures: bool = False
    tools: bool = False

    def __post_init__(self) -> None:
        self.kinds = not self.pick(3)
        self.figures = not self.pick(3)
        self.tools = not self.pick(3)

    def procedure(self) -> bytes:
        """A whole procedure."""
        for _ in range(2 + self.pick(5)):
            self.item(0)
        if self.pick(2):
            other = {"another person": "yes"} if self.pick(2) else {}
            other |= {"role": "smith"} if self.pick(2) else {}
            other |= {"may be waived": "yes"} if self.pick(2) else {}
            self.step("hold", {"signs": "checked", "together": "yes", **other})
        return self.written()

    def written(self) -> bytes:
        """The procedure as it stands, as the bytes of a file."""
        header: Item = {
            "procedure": "random",
            "title": "Random",
            "revision": "1",
            "scope": "Invented, for the random runs.",
            "batch": {"part": "arm"},
            "vessels": VESSELS,
            "stages": [{"stage": "All", "steps": self.items}],
        }
        if self.tools:
            header["needs"] = {
                "tools": ["drift", {"tool": "wedge", "count": 2}],
                "count back": "yes",
            }
        if self.kinds:
            header["kinds"] = KINDS
            header["batch"] = {"part": "arm", "pair": ["left", "right"]}
        if self.figures:
            header["figures"] = FIGURES
        return json.dumps(header).encode()

    def fresh(self, letter: str) -> str:
        """A name that nothing has yet."""
        self.named += 1
        return f"{letter}{self.named}"

    def block(self, write: Callable[[], object]) -> list[Item]:
        """The items that a piece of writing gives."""
        outer, self.items = self.items, []
        write()
        inner, self.items = self.items, outer
        return inner

    def item(self, depth: int) -> None:
        """Write one item: a step or a block."""
        sort = self.pick(14 if depth < 2 else 7)
        if sort < 7:
            self.simple(sort, windowed=True)
        elif sort < 9:
            self.guarded(depth)
        elif sort < 11:
            self.repeated(depth)
        elif sort < 13:
            self.loaded(depth)
        else:
            self.free()

    def simple(self, sort: int, *, windowed: bool = False, plain: bool = False) -> str:
        """Write a step of a kind; a plain one is done by each part alone."""
        together = not self.pick(3) and not self.load and not plain
        if sort == 0 and not self.pick(6) and not plain:
            return self.carried_out(together, windowed)
        if sort in (5, 6):
            if not self.pick(6) and not plain:
                notice = {"notice": f"{1 + self.pick(30)} min", **self._together(together)}
                return self.step("witness", notice, windowed=windowed)
            return self.dwell(together and not self.pick(2), windowed)
        writes = (self._do, self._reading, self._inspect, self._reading, self._work_out)
        return writes[sort](together, windowed, plain)

    def step(
        self,
        key: str,
        more: Item,
        *,
        windowed: bool = False,
        name: str = "",
        ahead: bool = False,
    ) -> str:
        """Write a step, perhaps with a window."""
        name = name or self.fresh("s")
        item = {key: "other" if key == "carry out" else f"Do {name}.", "id": name, **more}
        if key in ("do", "dwell") and not self.pick(8):
            item["critical"] = "yes"
        if not self.pick(8):
            item["people"] = "2"
        if windowed:
            item |= self._windowed(name, item)
        self.items.append(item)
        if not ahead:
            self.sources.append(name)
        return name

    def _together(self, together: bool) -> Item:
        return {"together": "yes"} if together else {}

    def _windowed(self, name: str, item: Item) -> Item:
        if self.pick(2) or not self.sources:
            return {}
        return {"window": self._window(name, item)}

    def _window(self, name: str, item: Item) -> Item:
        after = self.sources[-1 - self.pick(min(3, len(self.sources)))]
        if self.within and not self.pick(3):
            after = name  # from the end of this very step in the pass before, as between two coats
        least = (None, 2, 5)[self.pick(3)]
        most = (None, 8, 20)[self.pick(3)]
        if least is None and most is None:
            most = 8
        window: Item = {"after": after}
        if least is not None:
            window["least"] = self._time(least)
        late: list[Any] = []
        if most is not None:
            window["most"] = self._time(most)
            if self.pick(2):
                first = self.block(self._made_good)
                late.append({"first": first, "at most": str(1 + self.pick(2))})
            if not self.pick(3):
                late += self._ways()
        if late:
            window["late"] = late
        waits = self.load or "in" in item
        if waits and most is not None and self.pick(2):
            window["waiting for room"] = "does not count"
        return window

    def _made_good(self) -> None:
        sort = self.pick(4)
        before = len(self.sources)
        if not sort:
            steps = self.block(lambda: self.simple(0, plain=True))
            self.items.append({"if": self._condition(), "steps": steps})
        else:
            self.simple(0, plain=True)
        if sort == 1:
            self.simple(2, plain=True)
        del self.sources[before:]

    def _time(self, minutes: int) -> Any:
        """A length of time in one of its forms, about as long as that."""
        sort = self.pick(9)
        readings = [one for one in self.readings if not one.grid and self._here(one)]
        findings = [one for one in self.findings if self._here(one)]
        if readings and sort == 0:
            rows = {"2 mm": f"{minutes / 2:g} min", "18 mm": f"{minutes * 4 / 3:.2f} min"}
            return {"by": readings[self.pick(len(readings))].name, "table": rows}
        if findings and sort == 1:
            rows = {"good": minutes, "fair": minutes + 1, "bad": 2 * minutes}
            table = {word: f"{ms} min" for word, ms in rows.items()}
            return {"by": findings[self.pick(len(findings))].name, "table": table}
        if readings and sort == 2:
            return f"{readings[self.pick(len(readings))].name} / 10 mm * {minutes} min"
        if self.kinds and sort == 3:
            return {
                "by": "kind",
                "table": {"left": f"{minutes} min", "right": f"{minutes + 1} min"},
            }
        if self.kinds and sort == 4:
            return f"rest * {minutes} / 5"
        if self.figures and sort == 5:
            return f"pot_life * {minutes} / 10"
        if self.within and sort == 6:
            return f"{minutes} min + pass * 1 min"
        return f"{minutes} min"

    def _here(self, one: Written) -> bool:
        """Whether a name stands in no repeat that is over."""
        return self.within[: len(one.within)] == one.within

    def _number(self) -> str:
        """A quantity in mm of one part, of whatever is known; empty where nothing is."""
        given = ["reach"] if self.kinds else []
        given += ["wear"] if self.figures else []
        sort = self.pick(len(self.readings) + len(given)) if self.readings or given else -1
        if sort < 0 or sort >= len(self.readings):
            return given[sort - len(self.readings)] if given else ""
        one = self.readings[sort]
        if self._here(one):
            if one.within and not one.grid and not self.pick(4):
                return (f"before {one.name}", f"most(all {one.name})")[self.pick(2)]
            return f"mean({one.name})" if one.grid else one.name
        if one.grid or self.pick(2):
            return f"{('mean', 'least', 'sum')[self.pick(3)]}(all {one.name})"
        return f"last {one.name}"

    def _ways(self) -> list[str]:
        """Some consequences of a judgement; rework goes back to an earlier step, counted."""
        found: list[str] = []
        for _ in range(self.pick(3)):
            sort = self.pick(7)
            if sort == 0 and self.sources:
                to = self.sources[self.pick(len(self.sources))]
                found.append(f"rework from {to} at most {1 + self.pick(2)} times")
            else:
                said = "send away to grinder, scrap, stop the run, go on, again at most 2 times"
                found.append([*said.split(", "), "set aside"][max(sort - 1, 0)])
        return list(dict.fromkeys(found))

    def _some(self, key: str, ways: list[str]) -> Item:
        return {key: ways} if ways else {}

    def _do(self, together: bool, windowed: bool, plain: bool) -> str:
        return self.step("do", self._together(together), windowed=windowed, ahead=plain)

    def _reading(self, together: bool, windowed: bool, plain: bool) -> str:
        name = self.fresh("r")
        low = (None, "5 mm", self._limit())[self.pick(3)]
        high = (None, "15 mm")[self.pick(2)]
        grid = not self.pick(4)
        limits = {key: text for key, text in (("low", low), ("high", high)) if text is not None}
        shared = not together and not self.load and not plain and not self.pick(4)
        more: Item = {"unit": "mm", **limits}
        more |= self._together(together)
        more |= {"one for all": "yes"} if shared else {}
        more |= {"places": ["A", "B"]} if grid else {}
        if limits:
            inside = self._ways() if not self.pick(4) else []
            more |= self._some("inside", [*inside, "go on"] if inside and self.pick(3) else inside)
            more |= self._some("outside", self._ways())
        self.step("reading", more, windowed=windowed, name=name, ahead=plain)
        self.readings.append(Written(name, self.within, grid))
        return name

    def _limit(self) -> Any:
        sort = self.pick(4)
        if self.kinds and sort == 0:
            return {"by": "kind", "table": {"left": "4 mm", "right": "5 mm"}}
        number = self._number()
        return f"{number} - 3 mm" if number else "4 mm"

    def _inspect(self, together: bool, windowed: bool, plain: bool) -> str:
        name = self.fresh("f")
        found = {"good": ["go on"], "fair": self._ways() or ["go on"], "bad": self._ways()}
        found["bad"] = list(dict.fromkeys([*found["bad"], "scrap"]))
        more: Item = {"findings": found, **self._together(together)}
        self.step("inspect", more, windowed=windowed, name=name, ahead=plain)
        self.findings.append(Written(name, self.within))
        return name

    def _time_sum(self, together: bool, windowed: bool) -> str:
        """How long a dwell took, or how long it is since a step."""
        name, step = self.fresh("t"), self.sources[self.pick(len(self.sources))]
        of = "time_of" if step in self.dwells and self.pick(3) else "time_since"
        text = f"{of}({step})"
        text = f"most({text})" if together or self.load else text
        more: Item = {"unit": "min", "formula": text, **self._together(together)}
        if self.pick(2):
            more |= {"high": "8 min", **self._some("outside", self._ways())}
        return self.step("work out", more, windowed=windowed, name=name)

    def _work_out(self, together: bool, windowed: bool, plain: bool) -> str:
        if self.sources and not plain and not self.pick(3):
            return self._time_sum(together, windowed)
        number, name = self._number(), self.fresh("w")
        if not number:
            return self._do(together, windowed, plain)
        more: Item = {"unit": "mm"}
        if together or self.load:
            text = f"least({number}) + 1 mm"
            paired = self.kinds and together and not self.pick(3)
            more |= {"together": "pair"} if paired else self._together(together)
        elif self.within and not self.pick(3):
            text = f"if(pass > 1, {number}, 3 mm) + 1 mm"
        elif self.pick(2):
            text = f"{number} + {self._number()}"
        else:
            text = f"{number} * 2 - 4 mm"
        more["formula"] = text
        if self.pick(2):
            more |= {"high": "30 mm", **self._some("outside", self._ways())}
        self.step("work out", more, windowed=windowed, name=name, ahead=plain)
        self.readings.append(Written(name, self.within))
        return name

    def dwell(self, together: bool, windowed: bool) -> str:
        """Write a dwell, and what may be done meanwhile."""
        more: Item = self._together(together)
        least, most = (None, 3, 6)[self.pick(3)], (None, 10)[self.pick(2)]
        vessel = ("tub", "tub", "oven", "")[self.pick(4)]
        if not self.load:
            more |= {"in": vessel} if vessel else {"at": "plater"}
        more |= {} if least is None else {"least": self._time(least)}
        more |= {} if most is None else {"most": self._time(most)}
        more |= {} if self.pick(4) else {"aim": "7 min"}
        more |= {} if self.pick(3) else {"tend": {"every": self._time(4), "do": "Keep it wet."}}
        more |= self._some("early", self._ways()) if least is not None else {}
        more |= self._some("late", self._ways()) if most is not None else {}
        more |= {} if self.pick(3) else {"adds up": "yes"}
        name = self.fresh("s")
        self.dwells.add(name)
        more |= self._windowed(name, more) if windowed else {}
        if "at" not in more and not self.pick(3):
            more["before out"] = self.block(lambda: self.simple(self.pick(3), plain=True))
        if not self.pick(2):
            ahead = [self.block(self._ahead) for _ in range(1 + self.pick(2))]
            more["meanwhile"] = [item for items in ahead for item in items]
            more |= {} if self.pick(3) else {"undone": "left out"}
        return self.step("dwell", more, name=name)

    def _ahead(self) -> None:
        self.simple(self.pick(3), plain=True)

    def _condition(self) -> str:
        findings = [one for one in self.findings if self._here(one)]
        sort = self.pick(6)
        if findings and sort < 2:
            return f'{findings[self.pick(len(findings))].name} is "good"'
        if self.kinds and sort == 2:
            return ('kind is "left"', 'stamp is not "L"')[self.pick(2)]
        if self.within and sort == 3:
            return "pass > 1"
        number = self._number()
        if number and sort == 4:
            return f"{number} > 6 mm and not {number} > 16 mm"
        return f"{number} > 10 mm" if number else "1 mm > 0 mm"

    def guarded(self, depth: int) -> None:
        """Write steps under a condition."""
        item: Item = {"if": self._condition()}

        def steps() -> None:
            for _ in range(1 + self.pick(2)):
                self.item(depth + 1)

        item["steps"] = self.block(steps)
        if not self.pick(3):
            item["otherwise"] = self.block(lambda: self.simple(self.pick(4)))
        self.items.append(item)

    def carried_out(self, together: bool, windowed: bool) -> str:
        """Write another procedure, carried out in a run of its own, and what it found."""
        values = {"depth": "mm", "found": "finding"}
        more = {"revision": "1", "values": values, **self._together(together)}
        name = self.step("carry out", more, windowed=windowed)
        self.readings.append(Written(f"{name}.depth", self.within))
        self.findings.append(Written(f"{name}.found", self.within))
        return name

    def loaded(self, depth: int) -> None:
        """Write the steps of a load, in one of several vessels."""
        if self.load:
            self.simple(0)
            return
        key = self.fresh("load")
        vessels = (["oven"], ["tub"], ["rack"], ["oven", "tub"], ["rack", "tub"])[self.pick(5)]
        self.load = True

        def steps() -> None:
            if self.pick(2):
                self.item(2)
            self.dwell(together=False, windowed=True)
            for _ in range(self.pick(3)):
                self.item(depth + 1)
            if not self.pick(3):
                self.step("hold", {"signs": "the load is good"})

        inner = self.block(steps)
        self.load = False
        self.items.append({"load": f"Load {key}", "id": key, "in": vessels, "steps": inner})

    def repeated(self, depth: int) -> None:
        """Write a repeat; one step of it stands under no condition."""
        key = self.fresh("again")
        outer, self.within = self.within, (*self.within, key)
        condition: list[str] = []

        def steps() -> None:
            self.simple((0, 1, 2, 5)[self.pick(4)], windowed=True)
            if self.pick(2):
                self.item(depth + 1)
            condition.append(self._condition())

        inner = self.block(steps)
        self.within = outer
        item: Item = {"repeat": f"Passes {key}", "id": key, "steps": inner}
        least = 1 + self.pick(2)
        item["at least"] = str(least)
        if self.pick(4):
            item["until"] = condition[0]
            item |= {} if self.pick(2) else {"at most": str(least + self.pick(2))}
        self.items.append(item)

    def free(self) -> None:
        """Write steps in any order."""

        def steps() -> None:
            for _ in range(2 + self.pick(2)):
                self.simple(self.pick(3), plain=True)

        key = self.fresh("free")
        self.items.append({"any order": f"Free {key}", "id": key, "steps": self.block(steps)})


def random_route(pick: Pick) -> Route | None:
    """A random route, as of the copy that a run keeps; None where the loader refuses it."""
    return kept_route(Author(pick).procedure())


def kept_route(content: bytes) -> Route | None:
    """The route of a procedure, or None where it cannot be compiled."""
    try:
        return load_bytes(content, "random").route
    except ProcedureError:
        return None
