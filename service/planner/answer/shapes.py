"""The shape of a plan on the wire.

Rules of this file
------------------
- Types only: plain dictionaries that are dumped once. The contract is published from these classes.
- Every length is a number in millimetres and its name ends in ``_mm``; what people read also carries a text in the
  display units. Money is a decimal text in the catalog's currency.
- What is not assessed says so.
"""

from typing import Any, Final, Literal, NotRequired, get_args

from typing_extensions import TypedDict

from service.planner.answer.drilling_shapes import DrillingOut
from service.planner.answer.layout_shapes import DOCUMENTED as _DOCUMENTED
from service.planner.answer.layout_shapes import CuttingOut, LayoutOut
from service.planner.judging.checks.verdict import Outcome
from service.planner.sequencing.actions import Doing
from service.planner.units import DisplayUnits
from service.planner.writing import Told


@_DOCUMENTED
class CatalogRef(TypedDict):
    """The catalog that the plan was made from."""

    id: str
    """Its id"""
    revision: str
    """Its revision; pin it to get the same plan again"""
    title: str
    """Its title"""
    note: str
    """Its note, such as that its data are invented"""


@_DOCUMENTED
class Summary(TypedDict):
    """The plan at a glance."""

    headline: Told
    """One sentence for people"""
    wall_length_mm: float
    """Length of wall over all runs"""
    panels: int
    """Panels in all"""
    panel_joints: int
    """Panel joints in all"""
    sheets: int
    """Sheets to buy"""
    total: str
    """Total of the bill"""
    total_is: Told
    """What the total is, in a sentence"""
    currency: str
    """ISO 4217 code"""
    total_mass_kg: float
    """Mass of everything bought"""
    longest_mm: float
    """Longest piece to ship"""
    objective: str
    """Cost that was minimised over panels, baseboards and top channel: stock, joints and cuts"""
    objective_is: Told
    """What the objective is, in a sentence; it is another number than the total"""
    proven_optimal: bool
    """Whether every material is proven least cost"""
    minutes: NotRequired[int]
    """Work of a crew of two, an estimate; where the order of work is answered too"""
    outcome: NotRequired[Outcome]
    """The worst that is left for somebody to decide: fail or caution, else pass; where checks are answered too"""


@_DOCUMENTED
class BillLineOut(TypedDict):
    """One line of the bill."""

    sku: str
    role: str
    description: str
    required: float
    """What the wall uses; pieces, or metres of roll for tape"""
    spare: float
    """What is added for losses"""
    pack_size: float
    """What one pack holds"""
    packs: int
    """Packs to buy, rounded up once for the plan"""
    quantity: float
    """What the packs hold together"""
    unit: str
    """UN/CEFACT Recommendation 20 code of what a pack holds: H87 piece, MTR metre"""
    pack_unit: NotRequired[str]
    """UN/CEFACT Recommendation 21 code of the pack behind an X, such as XPK; absent where sold by the piece"""
    pack_price: str
    """Price of one pack at this number of packs, tax excluded"""
    amount: str
    """packs times pack_price, exactly"""
    unopened_worth: str
    """Worth of what the packs hold beyond required and spare, at pack_price"""
    tax_category: NotRequired[str]
    """UN/CEFACT 5305 code of the tax, where the catalog says it"""
    mass_kg: float
    lead_days: int
    """Days until it can ship"""
    needed_by: list[str]
    """Ids of the pieces, parts and schedule rows that need it; `left-1-hook-1..12` stands for those from 1 to 12"""


@_DOCUMENTED
class ByOthersOut(TypedDict):
    """Something the wall needs that is not in the bill."""

    id: str
    description: Told
    """What it is"""
    count: int | None
    length_mm: float | None


@_DOCUMENTED
class Bill(TypedDict):
    """Everything to buy, rounded to packs once."""

    currency: str
    lines: list[BillLineOut]
    by_others: list[ByOthersOut]
    total: str
    """Sum of the amounts, tax and freight excluded"""
    unopened_worth: str
    """What is left over in opened packs, over all lines"""
    lead_days: int
    """Days until the slowest line can ship"""
    total_mass_kg: float
    longest_mm: float
    """Longest piece to ship"""


@_DOCUMENTED
class LayerOut(TypedDict):
    """One layer under a screw's head."""

    part: str
    thickness_mm: float


@_DOCUMENTED
class FastenerRowBase(TypedDict):
    """Screws of one kind at one height through the same layers."""

    id: str
    role: str
    """Row of the fastening rules table"""
    sku: str
    """The screw"""
    run: str
    supports: list[int]
    labels: list[str]
    """Labels of those supports"""
    z_mm: float
    """Height above grade"""
    z_text: str
    x_mm: list[float]
    """Where each screw sits from the run's zero, support by support: count over supports for each"""
    x_text: list[str]
    """The same in display units, rounded from zero and never summed"""
    count: int
    washer_sku: NotRequired[str]
    layers: list[LayerOut]
    """Outside to inside"""
    grip_mm: float
    """Everything under the head to the inside of the near wall"""
    shortest_screw_mm: float
    """Least length of screw that holds"""
    longest_screw_mm: float
    """Greatest length that clears the far wall"""
    packed_out_mm: NotRequired[float]
    """What is filled between wall and bow at each of these screws: stand-off and set-back together"""
    packed_out_with: NotRequired[Literal["shim", "stand_off", "lower_the_wall"]]
    """What fills it: a shim, a stand-off block, or nothing that serves"""
    pilot_mm: NotRequired[float]
    """Pilot hole through all layers"""
    clearance_mm: NotRequired[float]
    """Clearance hole in the outer metals, so that the thread does not jack them off; drilled before driving"""
    clearance_in: NotRequired[list[str]]
    """Layers that get the clearance hole"""
    open_slot: bool
    """Whether the hole in the panel is a slot: open at an end post, or where no washer covers a round hole"""


@_DOCUMENTED
class FastenerRowOut(FastenerRowBase):
    """Screws of one kind at one height through the same layers, in words."""

    drive: Told
    """Bit or driver"""
    why: Told
    """Why this screw"""


@_DOCUMENTED
class FastenerTotal(TypedDict):
    """Screws or washers of one sku."""

    sku: str
    count: int


@_DOCUMENTED
class FastenerSchedule(TypedDict):
    """Which screw goes where."""

    rows: list[FastenerRowOut]
    totals: list[FastenerTotal]


@_DOCUMENTED
class StepPart(TypedDict):
    """A part that a step uses."""

    id: str
    """Piece id or sku"""
    count: float
    """Pieces, or metres of tape"""
    unit: str
    """UN/CEFACT Recommendation 20 code: H87 piece, MTR metre"""
    taken_from: Literal["bill", "on_hand", "cut"]
    """Out of a pack of the bill, from stock already on hand, or a piece cut on site from either"""


@_DOCUMENTED
class ActionOut(TypedDict):
    """One thing done along a run."""

    round: int
    """0 hangs the first panel, k closes the k-th panel joint; repeating steps are followed round by round"""
    do: Doing
    """Clamp a panel, hang a board, fit a part, lay a length of top channel on, measure, cut, push on, press on, fasten top
    channel, drive screws, fold a foot in"""
    parts: NotRequired[list[str]]
    """Ids of the pieces, parts, plates or packing strips that it is done with"""
    row: NotRequired[str]
    """Id of the row of the fastener schedule whose screws are driven"""
    supports: NotRequired[list[int]]
    """Where it is done"""


@_DOCUMENTED
class StepOut(TypedDict):
    """One step of the work."""

    id: str
    title: Told
    detail: list[Told]
    """Sentences, in order"""
    why: Told
    """Why it stands where it stands"""
    requires: list[str]
    """Steps that come before"""
    parts: list[StepPart]
    actions: NotRequired[list[ActionOut]]
    """What is done along a run, in order"""
    repeats: NotRequired[bool]
    """Whether it is done round by round: all repeating steps of a run for one joint, then for the next"""
    tools: list[str]
    """Ids of its tools"""
    cautions: list[str]
    """Ids of its cautions"""
    hold_point: NotRequired[Told]
    """What must be agreed or seen before going on"""
    minutes: int
    """An estimate for a crew of two"""


@_DOCUMENTED
class NamedOut(Told):
    """A tool or a caution that steps refer to."""

    id: str
    """What steps call it"""


@_DOCUMENTED
class InstallSequence(TypedDict):
    """The order of work."""

    steps: list[StepOut]
    tools: list[NamedOut]
    """Every tool once"""
    cautions: list[NamedOut]
    """Every caution once"""
    minutes_note: Told
    """That minutes are an estimate"""


@_DOCUMENTED
class Change(TypedDict):
    """A change to the request."""

    pointer: str
    """RFC 6901 pointer into the request"""
    value: Any
    """Value to put there"""


@_DOCUMENTED
class CheckOut(TypedDict):
    """One check."""

    id: str
    title: Told
    demand: float | None
    capacity: float | None
    unit: str
    """UN/CEFACT Rec 20 code, or C62 for a plain ratio or count"""
    utilisation: float | None
    """Demand over capacity, or capacity over demand where more is needed"""
    outcome: Outcome
    source: str
    """Id of the source, see /v1/sources"""
    load_source: NotRequired[str]
    """Id of the source of the load, where a standard gives it, see /v1/sources"""
    advice: Told
    """What was found, and what to do: a finding alone, or `advice.and_then` of a finding and what answers it"""
    changes: list[Change]
    """Applied to the request these make the check pass"""


@_DOCUMENTED
class NoticeOut(Told):
    """Something worth knowing before ordering, for the customer, with the plan's own numbers."""

    id: str
    """Kind of notice: its code without `notice.`"""
    changes: list[Change]
    """Changes to the request that would help"""


class Plan(TypedDict):
    """A complete plan, or the parts of it that were asked for."""

    plan_id: str
    planner_version: str
    reference: str
    catalog: CatalogRef
    display_units: DisplayUnits
    summary: NotRequired[Summary]
    layout: NotRequired[LayoutOut]
    cutting: NotRequired[CuttingOut]
    bill_of_materials: NotRequired[Bill]
    fastener_schedule: NotRequired[FastenerSchedule]
    drilling: NotRequired[DrillingOut]
    install_sequence: NotRequired[InstallSequence]
    checks: NotRequired[list[CheckOut]]
    notices: NotRequired[list[NoticeOut]]


Part = Literal[
    "summary",
    "layout",
    "cutting",
    "bill_of_materials",
    "fastener_schedule",
    "drilling",
    "install_sequence",
    "checks",
    "notices",
]
"""A part of a plan that can be asked for by itself."""
PARTS: Final[tuple[Part, ...]] = get_args(Part)
"""Every part, in the order of the answer"""
