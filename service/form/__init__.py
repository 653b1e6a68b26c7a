"""The form that a grower fills in: what it asks, the custom element that draws it, the page that shows it.

The path of data::

    GROUPS (asking.py)  +  schema of the spec (pydantic)  +  a revision of a catalog  +  a language
      -> describe() -> {schema, presentation}                       plain values, GET /v1/form
      -> element.js draws it, and keeps what was typed by pointer
      -> the pointers' values make a spec                           POST /v1/plans, /v1/drawings, /v1/quotes

Rules of this package
---------------------
- Plain values out: no HTTP, clock or store.
- Bounds and defaults come from the models, options from the catalog; only words and order stand here.
- No prices and no costs: the descriptor is for whoever looks at the shop's page.
"""
