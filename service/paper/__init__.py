"""What people look at: drawings, labels and the crew's packet, made from a plan's plain values.

Rules of this folder
--------------------
- Pure: a plan's answer goes in, SVG text or PDF bytes come out. No HTTP, no planner beyond the answer's shapes and units.
- Drawings are trees of elements, never joined strings; they carry presentation attributes and classes only: no `style`,
  no script, no address, so that they are safe on any page and under a strict content policy.
- One unit of a drawing is one millimetre of paper. `data-scale` on the root says how many millimetres of wall that is.
- Every text states its own length on paper (`textLength`), so that it stays in the box it was placed by in any font.
- No text is turned; labels that would touch go to another lane.
- What a plan calls a part is its `id` in a drawing, once; further fragments of it carry `data-part`.

The path of data: plan --reading--> the few fields that drawings need --elevation, tunnel, cutting, ..--> `Drawing`s
--svg, png, packet--> bytes.
"""
