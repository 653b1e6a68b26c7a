"""A crew that builds what the steps say and refuses what cannot be done; it shares no code with the order of work.

It reads a plan as it is answered: runs with their pieces, rows of the schedule, steps with their actions. Where
things are comes from x alone; what may be done when is written here from the trade (common practice, no source):

- a panel hangs beside the one before it; a board's next piece is tucked behind the one before;
- a screw goes in where all that it passes is there, and a lap's or a joint's where both pieces are;
- nothing is laid on, measured or pushed on at a joint before both panels hang and, where it seats on a board, that is up;
- a profile or jamb cap is measured before it is cut and cut before it is pushed on;
- plates go on before what covers them; uprights stand before the channel that meets them is cut;
- a piece of channel goes on over panels that hang and joints that are closed, between end parts that are there.
"""

from collections import Counter
from itertools import groupby, pairwise
from typing import Any

Document = dict[str, Any]


class CannotBeDoneError(AssertionError):
    """What a step asks for cannot be done yet, or not at all."""


def need(done: object, why: str) -> None:
    """Refuse to go on."""
    if not done:
        raise CannotBeDoneError(why)


class Crew:
    """Builds one run."""

    def __init__(self, run: Document, plan: Document) -> None:
        """Read what will be built, from the front."""
        self.run, self.plan = run, plan
        self.x = [support["x_mm"] for support in run["supports"]]
        self.last = len(self.x) - 1
        self.panels = {p["id"]: p for p in run["panels"]}
        self.boards = {p["id"]: p for p in run["baseboards"]}
        self.channels = {p["id"]: p for p in run["top_channels"]}
        self.profiles = {p["id"]: p for p in run["joint_profiles"]}
        self.ends = {p["id"]: p for p in run["end_battens"]}
        self.uprights = {p["id"]: p for p in run["uprights"]}
        self.plates = {p["id"]: p for p in run["splice_plates"]}
        self.packing = {p["id"]: p for p in run["packing_strips"]}
        self.rows = {r["id"]: r for r in plan["fastener_schedule"]["rows"] if r["run"] == run["id"]}
        self.joints = [p["to_support"] for p in run["panels"][:-1]]
        self.up: set[str] = set()
        self.cut: set[str] = set()
        self.lying: set[int] = set()
        self.measured: set[int] = set()
        self.driven: Counter[tuple[str, int]] = Counter()
        self.full = any(p["bottom_mm"] < run["elevations"]["board_top_mm"] for p in run["joint_profiles"])
        self.two_piece = any(
            row["role"] == "joint_profile" and all(layer["part"] != "gap" for layer in row["layers"])
            for row in self.rows.values()
        )

    def at(self, pieces: Document, support: int) -> list[str]:
        """Name the pieces of a course that touch a support."""
        return [name for name, p in pieces.items() if p["from_support"] <= support <= p["to_support"]]

    def hangs(self, support: int) -> bool:
        """Tell whether every panel that touches a support hangs."""
        return self.up.issuperset(self.at(self.panels, support))

    def boarded(self, support: int) -> bool:
        """Tell whether every board that touches a support is up."""
        return self.up.issuperset(self.at(self.boards, support))

    def closed(self, joint: int) -> bool:
        """Tell whether a joint's profile is in."""
        return all(p["id"] in self.up for p in self.profiles.values() if p["support"] == joint)

    def do(self, action: Document) -> None:
        """Do one thing."""
        supports = action.get("supports", [])
        if action["do"] == "drive":
            self.drive(self.rows[action["row"]], supports)
            return
        if action["do"] in ("lay_on", "measure"):
            for support in supports:
                getattr(self, action["do"])(support)
            return
        for part in action["parts"]:
            getattr(self, action["do"])(part)

    def clamp(self, panel: str) -> None:
        """Clamp a panel: the first at an end, the next beside one that hangs."""
        self.once(panel, self.panels)
        order = list(self.panels)
        number = order.index(panel)
        beside = {order[n] for n in (number - 1, number + 1) if 0 <= n < len(order)}
        if self.up & self.panels.keys():
            need(beside & self.up, f"{panel} has no neighbour that hangs")
        else:
            need(number in (0, len(order) - 1), f"{panel} is at no end")
        if self.two_piece:
            p = self.panels[panel]
            for joint in {p["from_support"], p["to_support"]} & set(self.joints):
                need(
                    joint in {self.profiles[c]["support"] for c in self.cut & self.profiles.keys()}, "no base"
                )
        self.up.add(panel)

    def hang(self, board: str) -> None:
        """Hang a board where a panel hangs, beside the one before; with full profiles all its joints are closed."""
        self.once(board, self.boards)
        order = list(self.boards)
        number, p = order.index(board), self.boards[board]
        if self.up & self.boards.keys():
            need(
                {order[n] for n in (number - 1, number + 1) if 0 <= n < len(order)} & self.up,
                f"{board} tucks nowhere",
            )
        need(
            any(self.hangs(s) for s in range(p["from_support"], p["to_support"] + 1)),
            f"{board} covers nothing",
        )
        if self.full and not self.two_piece:
            for joint in self.joints:
                if p["from_support"] <= joint <= p["to_support"]:
                    need(self.closed(joint), f"{board} would cover an open joint")
        self.up.add(board)

    def fit(self, part: str) -> None:
        """Fit a base, plate, packing strip, batten, corner cap or upright."""
        if part in self.profiles:
            need(
                part in self.cut and not self.up & self.panels.keys(),
                f"{part}: a base goes on before the panels",
            )
            return
        if part in self.plates:
            self.fit_plate(part)
        elif part in self.packing:
            need(part not in self.up, f"{part} twice")
        elif part in self.uprights:
            self.fit_upright(part)
        else:
            self.once(part, self.ends)
            support = self.ends[part]["support"]
            need(self.hangs(support), f"{part} has no panel under it")
            need(
                any(p["id"] in self.up for p in self.plates.values() if p["support"] == support),
                "no plate under it",
            )
        self.up.add(part)

    def fit_plate(self, part: str) -> None:
        """Fit a plate: at a joint behind both pieces, else before what covers it."""
        self.once(part, self.plates)
        plate = self.plates[part]
        support = plate["support"]
        if plate["kind"] == "joint":
            need(self.up.issuperset(self.at(self.channels, support)), f"{part} has no two pieces before it")
        else:
            covers = [*self.ends.values(), *self.uprights.values()]
            need(not any(c["id"] in self.up for c in covers if c["support"] == support), f"{part} is covered")

    def fit_upright(self, part: str) -> None:
        """Set an upright over a panel that hangs, on its plate and packing, before the channel is cut to it."""
        self.once(part, self.uprights)
        support = self.uprights[part]["support"]
        need(self.hangs(support), f"{part} has no panel behind it")
        need(self.full or self.boarded(support), f"{part} has no board to stand on")
        under = [*self.plates.values(), *self.packing.values()]
        need(
            all(u["id"] in self.up for u in under if u["support"] == support),
            f"{part} lacks plate or packing",
        )
        need(not self.cut & set(self.at_ends(support)), f"channel was cut before {part}")

    def at_ends(self, support: int) -> list[str]:
        """Name the pieces of channel that end at a support."""
        return [n for n, p in self.channels.items() if support in (p["from_support"], p["to_support"])]

    def lay_on(self, support: int) -> None:
        """Lay a length of channel on the panel ends."""
        need(self.hangs(support), f"no panel to lay the channel on at {support}")
        need(not any(n in self.up for n in self.at(self.channels, support)), "the channel is already on")
        self.lying.add(support)

    def measure(self, support: int) -> None:
        """Measure under the channel, from the board or from the foot."""
        need(support in self.lying, "nothing lies there to measure to")
        need(
            (self.full and support in self.joints) or self.boarded(support),
            f"no board to measure from at {support}",
        )
        self.measured.add(support)

    def saw(self, part: str) -> None:
        """Cut a part that is cut on the wall."""
        need(part not in self.cut, f"{part} cut twice")
        if part in self.channels:
            p = self.channels[part]
            for upright in self.uprights.values():
                if upright["support"] in (p["from_support"], p["to_support"]):
                    need(upright["id"] in self.up, f"{part} is cut before {upright['id']} stands")
        elif not self.two_piece or part in self.ends:
            need(self.where(part) in self.measured, f"{part} was not measured")
        self.cut.add(part)

    def where(self, part: str) -> int:
        """The support of an upright part."""
        return int((self.profiles | self.ends)[part]["support"])

    def push_on(self, part: str) -> None:
        """Push a profile or end cap on, down to the board that it seats on."""
        self.once(part, self.profiles | self.ends)
        support = self.where(part)
        need(part in self.cut, f"{part} is not cut")
        need(self.hangs(support), f"{part} has no panel ends to take")
        if support in self.joints and self.full:
            need(not self.up & set(self.at(self.boards, support)), f"a board is in the way of {part}")
        else:
            need(self.boarded(support), f"{part} has no board to seat on")
        self.up.add(part)

    def press_on(self, part: str) -> None:
        """Press a cap on its base."""
        self.once(part, self.profiles)
        need(self.hangs(self.where(part)), f"{part} has no panel ends to take")
        self.up.add(part)

    def fasten(self, part: str) -> None:
        """Put a piece of channel on for good."""
        self.once(part, self.channels)
        p = self.channels[part]
        start, end = p["from_support"], p["to_support"]
        for support in range(start, end + 1):
            need(self.hangs(support), f"{part} lies where no panel hangs")
            need(support not in self.joints or self.closed(support), f"{part} covers an open joint")
        for upright in self.uprights.values():
            if upright["support"] in (start, end):
                need(upright["id"] in self.up, f"{part} before {upright['id']}")
                need(part in self.cut, f"{part} is not cut to {upright['id']}")
        for end_part in self.ends.values():
            if end_part["support"] in (start, end):
                need(end_part["id"] in self.up, f"{part} before {end_part['id']}")
        self.up.add(part)

    def fold(self, part: str) -> None:
        """Fold a foot in."""
        need(part in self.up, f"{part} is not there")

    def once(self, part: str, kind: Document) -> None:
        """Take a part that is of its kind and not yet up."""
        need(part in kind, f"{part} is no such part")
        need(part not in self.up, f"{part} goes up twice")

    def drive(self, row: Document, supports: list[int]) -> None:
        """Drive a row's screws: all that they pass is there."""
        need(supports, "no support")
        for support in supports:
            need(support in row["supports"], f"{row['id']} has no screw at {support}")
            for layer in {layer["part"] for layer in row["layers"]}:
                need(self.there(layer, row, support), f"{row['id']} at {support}: {layer} is not there")
            self.driven[row["id"], support] += 1

    def there(self, layer: str, row: Document, support: int) -> bool:
        """Tell whether a layer is where a screw passes it."""
        if layer == "baseboard":
            return self.boarded(support)
        if layer in ("panel", "gap"):
            return self.hangs(support)
        if layer == "joint_profile":
            if self.two_piece:
                return row["role"] != "joint_profile" or not self.up & self.panels.keys()
            return self.closed(support)
        if layer == "top_channel":
            return self.up.issuperset(self.at(self.channels, support))
        named = {
            "splice_plate": self.plates,
            "packing": self.packing,
            "film_channel": self.ends | self.uprights,
            "corner_cap": self.ends,
            "end_cap": self.ends,
        }
        return layer not in named or any(
            p["id"] in self.up for p in named[layer].values() if p["support"] == support
        )

    def finished(self) -> None:
        """Refuse to leave while anything is left over."""
        everything = (
            self.panels
            | self.boards
            | self.channels
            | self.profiles
            | self.ends
            | self.uprights
            | self.plates
            | self.packing
        )
        need(self.up == everything.keys(), f"left over: {sorted(everything.keys() - self.up)}")
        wanted = {(name, support): 1 for name, row in self.rows.items() for support in row["supports"]}
        need(self.driven == wanted, "not every screw was driven once")


def steps_of(plan: Document, run: str) -> list[Document]:
    """List what a crew does along a run: repeating steps beside each other are followed round by round."""
    steps = [
        s for s in plan["install_sequence"]["steps"] if s.get("actions") and s["id"].startswith(f"{run}-")
    ]
    found: list[Document] = []
    for repeats, group in groupby(steps, key=lambda step: bool(step.get("repeats"))):
        actions = [action for step in group for action in step["actions"]]
        # sorting keeps the order of the steps within a round
        found += sorted(actions, key=lambda action: action["round"]) if repeats else actions
    return found


def build(plan: Document) -> None:
    """Build a whole plan, run by run."""
    for run in plan["layout"]["runs"]:
        crew = Crew(run, plan)
        for action in steps_of(plan, run["id"]):
            crew.do({**action, "do": "saw" if action["do"] == "cut" else action["do"]})
        crew.finished()


def screws_on_marks(plan: Document) -> None:
    """Refuse a screw at a panel joint that would meet a panel end, board's and profile's alike."""
    for run in plan["layout"]["runs"]:
        ends = [(a["x_end_mm"], b["x_start_mm"], b["from_support"]) for a, b in pairwise(run["panels"])]
        for row in plan["fastener_schedule"]["rows"]:
            if row["run"] != run["id"] or row["role"] not in ("board_upper", "board_lower", "joint_profile"):
                continue
            for left, right, support in ends:
                if support in row["supports"]:
                    x = row["x_mm"][row["supports"].index(support)]
                    need(left + 2.4 < x < right - 2.4, f"{row['id']} meets a panel at {support}")
