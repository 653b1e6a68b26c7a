"""A plan in words: what to order, what to cut, the first steps, and what to know.

Rules of this file
------------------
- It reads a plan as the service answers it and writes text; nothing is computed here.
"""

from collections.abc import Iterator
from typing import Final

from service.planner.answer.shapes import Plan

FIRST_STEPS: Final = 8
"""Steps that a summary shows [-]"""


def summarise(plan: Plan) -> str:
    """Write a plan's summary.

    Parameters
    ----------
    plan
        The plan as answered.
    """
    sections = (_head(plan), _order(plan), _cuts(plan), _steps(plan), _checks(plan), _notices(plan))
    return "\n".join(line for section in sections for line in section)


def _head(plan: Plan) -> Iterator[str]:
    summary = plan["summary"]
    proof = "proven least cost" if summary["proven_optimal"] else "not proven least cost"
    yield summary["headline"]["text"]
    yield f"Plan {plan['plan_id']}, {proof}; catalog {plan['catalog']['id']} {plan['catalog']['revision']}"


def _order(plan: Plan) -> Iterator[str]:
    bill = plan["bill_of_materials"]
    yield "\nTO ORDER"
    for line in bill["lines"]:
        yield f"  {line['packs']:>4} x {line['sku']:<16} {line['description']:<62} {line['amount']:>10}"
    yield f"  {'total ' + bill['currency']:>86} {bill['total']:>10}"


def _cuts(plan: Plan) -> Iterator[str]:
    yield "\nTO CUT"
    for material in plan["cutting"]["materials"]:
        for stock in material["stock"]:
            for pattern in stock["patterns"]:
                strips = pattern.get("strips", [pattern])
                cuts = [
                    " + ".join(f"{cut['count']} x {cut['length_text']}" for cut in strip["cuts"])
                    for strip in strips
                ]
                yield f"  {pattern['repeat']:>4} x {stock['sku']:<16} {'; '.join(cuts)}"


def _steps(plan: Plan) -> Iterator[str]:
    steps = plan["install_sequence"]["steps"]
    yield f"\nFIRST STEPS (of {len(steps)})"
    for step in steps[:FIRST_STEPS]:
        yield f"  - {step['title']['text']}: {step['detail'][0]['text']}"


def _checks(plan: Plan) -> Iterator[str]:
    told = [check for check in plan["checks"] if check["outcome"] in ("caution", "fail")]
    if told:
        yield "\nCHECKS THAT ASK FOR A LOOK"
        for check in told:
            yield f"  - {check['outcome']}: {check['title']['text']}. {check['advice']['text']}"


def _notices(plan: Plan) -> Iterator[str]:
    yield "\nGOOD TO KNOW"
    for notice in plan["notices"]:
        yield f"  - {notice['text']}"
