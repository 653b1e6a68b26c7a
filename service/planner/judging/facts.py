"""What a laid-out and priced wall is judged by.

Rules of this file
------------------
- One type, read by notices and checks; nothing is computed here.
"""

from service.planner.asked.settle import Job
from service.planner.bill.pricing import PricedBill
from service.planner.records import record
from service.planner.wall.layout import FastenerRow, Layout
from service.planner.wall.runs import ClearOpening


@record
class Facts:
    """What notices and checks are drawn from."""

    job: Job
    """The settled job"""
    layout: Layout
    """The layout"""
    openings: tuple[ClearOpening, ...]
    """Openings as they will be built"""
    rows: tuple[FastenerRow, ...]
    """The fastener schedule"""
    bill: PricedBill
    """The bill"""
