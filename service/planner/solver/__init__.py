"""Layout and cutting at least cost, proven; knows lengths and prices, nothing of the wall. One numeric stack under two doors.

``courses/least_cost.py`` decides joints and cutting of a course together, ``cuts/cut_lists.py`` cuts a fixed demand. Under both:
``lp/`` (linear programs, branch and bound, exact bounds), ``knapsack.py``, ``effort.py`` (units of work), ``kept.py`` (answers kept).
"""
