"""Order of work before and after the runs: the precedence table as data.

Rules of this file
------------------
- A row says when it appears, what must be done before it and why; the code only walks the table.
- ``requires`` names rows of this table or of ``run_steps.py``; where a row does not appear, what it requires itself
  takes its place, so that no order is lost. Rows stand in an order that keeps every requirement.
- Texts hold real numbers through the words in braces, which ``step_words.py`` fills in.
- Minutes are estimates, judgement: clock minutes of a two-person crew, fixed and for each thing counted.
- The order and its reasons are common practice, no source.
"""

from collections.abc import Mapping
from typing import Final

from service.planner.records import record


@record
class Line:
    """A sentence of a step that appears when its condition holds."""

    when: str
    """Condition"""
    text: str
    """The sentence, with words in braces"""


@record
class StepRow:
    """One row of the precedence table."""

    id: str
    """Name of the step"""
    title: str
    """What is done, with words in braces"""
    when: str = "always"
    """Condition under which it appears; ``used`` where it appears when it uses any part or screw"""
    requires: tuple[str, ...] = ()
    """Rows that come before it"""
    why: str
    """Why it stands where it stands"""
    detail: tuple[str | Line, ...]
    """Sentences"""
    work: tuple[str, ...] = ()
    """Kinds of work, of the table in ``tools.py``"""
    repeats: bool = False
    """Whether it is done at each joint, with the repeating rows beside it, before the next joint is begun"""
    hold: str | None = None
    """What must be seen and agreed before anything that follows"""
    minutes: Mapping[str, float]
    """Minutes for each thing counted; ``once`` counts one"""


BEFORE: Final[tuple[StepRow, ...]] = (
    StepRow(
        id="ask", title="Ask the permit and engineer questions",
        why="rigid cladding can change what a tunnel is in the eyes of the code, its insurer and its frame's maker",
        detail=(
            "Ask the building office whether a rigid low wall needs a permit, the frame's maker whether posts and bows may carry it, and the owner and insurer whether they agree.",
            "Structural adequacy is a matter for local code and a licensed engineer; this plan does not assess it.",
        ),
        work=("ask",), hold="Answers on permit and frame are written down.", minutes={"once": 60},
    ),
    StepRow(
        id="locate", title="Have buried services located", when="dug", requires=("ask",),
        why="the notice takes days, and a trench or an auger cannot be taken back",
        detail=(
            "Give notice to the local utility location service days before anything is dug or driven, and wait for the marks.",
            "Ask the owner for private lines: irrigation, electricity to fans, gas to heaters. Dig by hand near marks.",
        ),
        work=("locate",), hold="Marks are on the ground, private lines are known.", minutes={"once": 30},
    ),
    StepRow(
        id="delivery", title="Take delivery, count, and store flat, dry and shaded", requires=("ask",),
        why="damage is claimed at delivery, and film bakes on and flutes draw water when sheets lie in sun or wet",
        detail=(
            "Count against the bill: {sheets} and the rest. Note damage before signing, with photos.",
            "Store sheets flat on bearers off the ground, dry, shaded and tied down, ends closed, under a cover that is not clear.",
            Line(when="on_hand", text="Put the stock already on hand beside it and check its lengths."),
        ),
        work=("count",), hold="Counted, damage noted.", minutes={"once": 30, "sheet": 1},
    ),
    StepRow(
        id="clear", title="Clear the existing side", when="existing", requires=("delivery",),
        why="posts must be bare, and side panels slide behind the end-wall film",
        detail=(
            "Raise the curtain and tie it up; take off rope, hooks and the old board.",
            Line(when="film_end", text="Free the end-wall film at the corners and tie it back."),
        ),
        work=("curtain", "strip_old"), minutes={"once": 20, "metre": 0.7},
    ),
    StepRow(
        id="posts", title="True the posts", requires=("locate", "delivery", "clear"),
        why="a panel shows every post that is out of line",
        detail=(
            "Bring the {posts} into line and plumb; grind off or cap bolts that stand out; touch up zinc.",
            "A post that must be driven or reset waits for located services.",
        ),
        work=("posts",), minutes={"post": 3},
    ),
    StepRow(
        id="studs", title="Set the jamb studs", when="studs", requires=("locate", "posts"),
        why="a jamb is a wall end: its place must be final before anything is measured",
        detail=("Set {stud_count} ({stud_width} wide) plumb, outer face on the opening's edge: {studs}.",),
        work=("studs",), minutes={"stud": 45},
    ),
    StepRow(
        id="trench", title="Dig the trench", when="trench", requires=("locate", "posts", "studs"),
        why="once boards and panels hang over it there is no room to dig",
        detail=(
            "Dig {trench_width} wide and {trench_depth} deep along {wall_length} of wall.",
            Line(when="buried", text="The panel's foot goes {bury} below grade; the board stays above."),
        ),
        work=("trench",), minutes={"once": 20, "metre": 1.3},
    ),
    StepRow(
        id="mark", title="Mark the top line and the joint supports, measure as built",
        requires=("posts", "studs", "trench"),
        why="every length follows from where the supports really stand",
        detail=(
            "Mark the panel's top line on every support, level from the first support of each run, at this height above grade: {tops}.",
            "Measure all stations cumulatively from each run's first support, never bay by bay; compare with the marks.",
            Line(when="joints", text="Mark the panel joints: {joint_marks}."),
            "A station that differs from the plan by more than the gap can take means a new plan, before anything is cut.",
        ),
        work=("mark",), hold="Cut list agreed against the stations as built. Nothing is cut before.",
        minutes={"once": 30, "post": 1.5},
    ),
    StepRow(
        id="strips", title="Mark the outside face and {rip_word} the sheets", requires=("mark",),
        why="the film's print is lost with the first cut: after that only the mark tells the weather side",
        detail=(
            "Mark the outside (UV) face on every strip-to-be, offcuts too, with a grease pencil.",
            "{rip_sentence} to {ripped}, by the cut list.",
        ),
        work=("rip",), hold="Outside face marked on every strip; the first strip measures {ripped}.",
        minutes={"once": 20, "sheet": 7},
    ),
    StepRow(
        id="cut-panels", title="Crosscut, peel, blow out and tape the panels", requires=("strips",),
        why="wet or dusty flutes stay so once they are taped, and film left under metal never comes off",
        detail=(
            "Crosscut {panels} by the cut list ({crosscuts}), mark kept outside.",
            "Peel off both masking films; blow the flutes out and let them dry.",
            Line(when="along", text="Tape both cut ends at once with foil tape, in strips {tape_width} wide that hide in the profile."),
            Line(when="upright_flutes", text="Tape the top edge with foil tape and the foot with vented tape, in strips {tape_width} wide."),
            Line(when="factory", text="Whole sheets that stay uncut: {factory}."),
        ),
        work=("crosscut", "tape"), minutes={"once": 10, "crosscut": 2, "tape_edge": 3},
    ),
    StepRow(
        id="holes", title="Drill the oversize holes from a template", when="panel_holes", requires=("cut-panels",),
        why="a self-drilling screw alone makes a tight hole and pins the sheet, which then buckles or tears",
        detail=(
            "Drill the panels' holes {hole} wide, so that every panel moves freely past every screw.",
            "Make {templates} as the drilling table shows; x is measured from the panel's front end, height from its foot, outside face up.",
            Line(when="jamb_holes", text="Where a panel ends at a jamb the holes are {jamb_hole} wide, because the end moves most."),
            Line(when="end_slots", text="On end posts the hole is an open slot from the panel's end, {slot_width} high."),
            Line(when="washer_slots", text="No washer in this catalog covers the round holes of the rows marked as slots: there cut a slot {slot_width} high along the panel, as long as the hole would be wide."),
        ),
        work=("holes",), minutes={"once": 10, "panel_hole": 0.5},
    ),
    StepRow(
        id="packing", title="Cut the packing strips", when="flaps", requires=("cut-panels",),
        why="the uprights stand on them above the top channel",
        detail=("Cut a strip of sheet {packing_width} wide for each wind-flap upright: {packing}.",),
        work=("crosscut",), minutes={"flap": 4},
    ),
    StepRow(
        id="metal", title="Cut and deburr the metal", requires=("mark",),
        why="boards and channel follow the same agreed cut list; what is measured on the wall is cut there",
        detail=(
            "Cut baseboards, top channel and end parts by the cut list; label each with its id and deburr.",
            Line(when="flaps", text="Leave the pieces of top channel that meet a wind-flap upright: they are cut to the upright once it stands."),
            Line(when="one_piece", text="Set joint profiles out on their sticks but cut each only when its clear height is measured."),
            Line(when="jamb_holes", text="Leave the end caps too: each is cut when its clear height is measured."),
            Line(when="pilot", text="Pilot and clearance holes wait: they are drilled in place, by the steps that drive their screws."),
        ),
        work=("metal",), minutes={"once": 15, "metal_cut": 2},
    ),
    StepRow(
        id="end-sheets", title="Put up the rigid end wall's sheets", when="rigid_end", requires=("posts", "mark"),
        why="the corner cap clamps end wall and side panel together, so the end wall is there first",
        detail=(
            "Put up the end wall's sheets, up to where the corner cap goes; leave the cap off.",
            "They are by others. Their edge stands on the post's front face, where the corner cap's other leg will hold it: it goes between no panel and post.",
        ),
        work=("end_sheets",), minutes={"rigid_end": 60},
    ),
)  # fmt: skip
"""Steps before the first run."""

AFTER: Final[tuple[StepRow, ...]] = (
    StepRow(
        id="hooks", title="Fit the rope hooks", when="hooks", requires=("every-run",),
        why="the hook itself is the template, and the wall behind it must be up to be drilled through",
        detail=(
            "Fit {hook_count} in the middle of the board's face, {hook_height} above grade: {hooks}.",
            "The hook is the template: drill 1/4 in through board and panel from outside.",
            "From inside, the small hole guides the 1 in hole saw through the panel only.",
            "Close the opened flutes with tape, or set the plug once the nut is on.",
            "Washer and lock nut inside, with a 7/16 in deep socket, spanner on the bolt outside.",
        ),
        work=("hooks",), minutes={"once": 10, "hook": 5},
    ),
    StepRow(
        id="line-trench", title="Line the trench", when="trench", requires=("every-run",),
        why="the lining hangs against the foot of the finished wall",
        detail=(
            "Hang the lining along {wall_length} of wall, lapped behind the foot and down to {trench_depth}.",
            Line(when="buried", text="Below the board the panel gaps are open: cover them with the lining."),
        ),
        work=("line_trench",), hold="Photo of all buried work before it is covered.", minutes={"once": 10, "metre": 1},
    ),
    StepRow(
        id="fill", title="Backfill", when="trench", requires=("line-trench",),
        why="nothing is covered before it is on a photo",
        detail=("Backfill in thin layers, tamp lightly, slope the surface away; keep soil below the board's top by 2 in (50 mm) and off its screws.",),
        work=("fill",), minutes={"once": 10, "metre": 2},
    ),
    StepRow(
        id="flaps", title="Fit the wind flaps", when="flaps", requires=("every-run",),
        why="after both sides, so that the film is stretched once between finished channels",
        detail=(
            "Stretch the flap's film over the end bay and lock it with the wires: {flaps}.",
            Line(when="batten_flap", text="It is gripped by the upright and by the end batten."),
            Line(when="rigid_flap", text="At a rigid end the corner cap grips no film: {rigid_flaps} there, and the film's end edge needs a film channel of its own beside the cap, by others. This plan does not hold it."),
        ),
        work=("film",), minutes={"flap": 18},
    ),
    StepRow(
        id="end-film", title="Lock the end-wall film into the end battens", when="film_end", requires=("every-run", "flaps"),
        why="film outside the panel's end sheds water over it",
        detail=("Bring the end-wall film over the panels' ends and lock it into the end battens with their wires, {film_ends}.",),
        work=("film",), minutes={"film_end": 10},
    ),
    StepRow(
        id="roof-film", title="Put on the roof film", when="new", requires=("every-run", "flaps", "end-film"),
        why="on a new tunnel the wall goes up before the film is in the way",
        detail=("Put on the roof film on a still day.",),
        work=("film",), minutes={"once": 120},
    ),
    StepRow(
        id="curtain", title="Let the curtain down and check its lap", when="roll_up",
        requires=("every-run", "flaps", "end-film", "roof-film"),
        why="the curtain shows whether channel, battens and flaps are smooth and in line",
        detail=(
            "Let the curtain down slowly; it passes over the top channel at {channel_top} and laps the wall without catching.",
            Line(when="flaps", text="Its ends lap the wind flaps."),
        ),
        work=("curtain",), minutes={"once": 15},
    ),
    StepRow(
        id="rope", title="Lace and tension the rope", when="hooks", requires=("hooks", "roof-film", "curtain"),
        why="the rope is outermost",
        detail=("Lace the anti-billow rope through the hooks and tension it.",),
        work=("rope",), minutes={"once": 10, "metre": 0.5},
    ),
    StepRow(
        id="hand-over", title="Clean up, hand over spares and as-built marks",
        requires=("hooks", "fill", "flaps", "end-film", "roof-film", "curtain", "rope"),
        why="steel drillings stain the wall, lame animals and puncture tyres; the marks are what a repair starts from",
        detail=(
            "Pick up drillings and offcuts with a magnet and by hand; wash with mild soap only.",
            "Hand over spares, as-built stations, cut list, and a photo of the sheet's label.",
        ),
        work=("clean",), hold="Hand-over signed.", minutes={"once": 45},
    ),
    StepRow(
        id="look-again", title="Look again after the first hot and cold spell", requires=("hand-over",),
        why="the first season shows whether panels are free to move",
        detail=("After one hot and one cold spell look at every joint, washer and lap; snug what is loose, never crush a washer.",),
        work=("look",), minutes={"once": 30},
    ),
)  # fmt: skip
"""Steps after the last run."""
