"""Where catalogs, keys and counters come from: files in a folder or Redis, always through the worker's own memory.

The edge codes against `service.store.contract`; this package alone speaks Redis. The planner is not changed by anything
here: it is handed a parsed catalog.
"""
