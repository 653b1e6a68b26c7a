"""Imported once by the process that all planners are forked from: what is loaded and compiled here is shared by all of them."""

import gc

import service.batch.planner
from service.machine_code import compiled_once
from service.planner.plan import warm_up

__all__ = ["service"]

with compiled_once():
    warm_up()
gc.collect()
gc.freeze()
