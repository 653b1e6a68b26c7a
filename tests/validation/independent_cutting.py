"""Whether a plan's cutting could be sawn, and what it costs: written from the trade's rules alone.

Pieces and kerfs fit their strip or stick, strips and kerfs fit their sheet, every piece of the layout is cut exactly
once at its own length, n pieces take n crosscuts (n - 1 where they fill it exactly), and the objective is the stock
opened, an allowance for each joint and one for each crosscut. A sheet left whole saves a cut that stays counted.
"""

from collections import Counter
from collections.abc import Iterator
from fractions import Fraction

from tests.validation.independent_count import panel_length
from tests.validation.independent_job import Document, Job, Length, down, mm

F = Fraction
COURSES = {"sheet": "panels", "baseboard": "baseboards", "top_channel": "top_channels"}
Fault = tuple[str, object, object]


def sawn(job: Job, plan: Document, gap: Length, end_room: Length) -> Iterator[Fault]:
    """Give everything about a plan's cutting that is not as it should be, as what, counted and planned."""
    for material in plan["cutting"]["materials"]:
        pieces: Counter[str] = Counter()
        for stock in material["stock"]:
            for pattern in stock["patterns"]:
                yield from _pattern_faults(job, stock, pattern)
                pieces.update(p for row in _rows(pattern) for cut in row["cuts"] for p in cut["pieces"])
        if material["role"] in COURSES:
            yield from _course_faults(job, plan, material, pieces, (gap, end_room))


def _rows(pattern: Document) -> list[Document]:
    """What is crosscut: the strips of a sheet, or the stick itself."""
    return list(pattern.get("strips") or [pattern])


def _pattern_faults(job: Job, stock: Document, pattern: Document) -> Iterator[Fault]:
    """Check one pattern; a sheet is printed as sold, and says which side its pieces are cut along."""
    kerf, strips = job.units.kerf, pattern.get("strips") or []
    along, across = mm(stock["length_mm"]), mm(stock.get("width_mm", 0))
    if stock.get("cut_along", "length") != ("width" if job.upright_flutes and strips else "length"):
        yield f"{stock['sku']} cut along", job.upright_flutes, stock.get("cut_along")
    if job.upright_flutes and strips:
        along, across = across, along
    taken = sum((mm(strip["height_mm"]) + kerf for strip in strips), F(0))
    if taken > across + kerf:
        yield f"{stock['sku']} strips", float(across), float(taken - kerf)
    for row in _rows(pattern):
        lengths = [mm(cut["length_mm"]) for cut in row["cuts"] for _ in range(cut["count"])]
        room = along + kerf - sum(lengths, F(0)) - kerf * len(lengths)
        if room < 0:
            yield f"{stock['sku']} pieces", float(along), float(along - room)
        if row["crosscuts"] != len(lengths) - (room == 0):
            yield f"{stock['sku']} crosscuts", len(lengths) - (room == 0), row["crosscuts"]


def _course_faults(
    job: Job, plan: Document, material: Document, cut: Counter[str], gaps: tuple[Length, Length]
) -> Iterator[Fault]:
    key = COURSES[material["role"]]
    laid = {piece["id"]: piece for run in plan["layout"]["runs"] for piece in run[key]}
    if cut != Counter(laid.keys()):
        yield f"{key} cut once each", sorted(laid), sorted(cut.elements())
    for stock in material["stock"]:
        for pattern in stock["patterns"]:
            for row in _rows(pattern):
                for piece in row["cuts"]:
                    wrong = [p for p in piece["pieces"] if laid[p]["length_mm"] != piece["length_mm"]]
                    if wrong:
                        yield f"{key} length", piece["length_mm"], wrong
    yield from _cost_faults(job, plan, material, gaps)


def _cost_faults(
    job: Job, plan: Document, material: Document, gaps: tuple[Length, Length]
) -> Iterator[Fault]:
    role = material["role"]
    prices = {item["sku"]: F(item["price"]) for item in job.catalog["items"]}
    allowances = job.catalog["allowances"] | (job.request.get("allowances") or {})
    runs = plan["layout"]["runs"]
    joints = sum(len(run[COURSES[role]]) - 1 for run in runs)
    cost = F(allowances["joint"] if role == "sheet" else allowances["metal_joint"]) * joints
    for stock in material["stock"]:
        cost += F(0) if stock["from_on_hand"] else prices[stock["sku"]] * stock["count"]
        for pattern in stock["patterns"]:
            cuts = sum(row["crosscuts"] for row in _rows(pattern))
            cost += F(allowances["cut"]) * cuts * pattern["repeat"]
    if role == "sheet":
        cost += F(allowances["cut"]) * _cuts_saved(job, runs, gaps)
    if cost != F(material["objective"]):
        yield f"{role} objective", f"{float(cost):.2f}", material["objective"]


def _cuts_saved(job: Job, runs: list[Document], gaps: tuple[Length, Length]) -> int:
    """Count the sheets left whole that the rules would have cut."""
    saved = 0
    for run, there in zip(job.runs, runs, strict=True):
        for panel in filter(lambda panel: panel["uncut"], there["panels"]):
            arc = (panel["from_support"], panel["to_support"])
            saved += down(panel_length(job, run, arc, *gaps), job.units.step) < mm(panel["length_mm"])
    return saved
