"""The words of drawings, labels and packets: one table of messages.

Rules of this file
------------------
- A message names its values; what is measured comes in as text in the plan's display units.
- Translations stand with those of all other messages, by the code of each.
"""

from dataclasses import dataclass
from typing import Final

from service.planner.messages import filled, say
from service.planner.writing import ENGLISH, Language, Writer

_TEXTS: Final = (
    say("paper.run", "run {run}"),
    say("paper.elevation", "{side}, run {run}, seen from outside"),
    say(
        "paper.elevation_sheet",
        "{side}, run {run}, seen from outside: sheet {sheet} of {sheets}, {first} to {last}",
    ),
    say(
        "paper.elevation_told",
        "Scale 1:{scale}. From the ground up: baseboard, panels, top channel. {panels} panels and {joints} panel joints on the run; its zero is the centre of {zero}, at the {zero_hand} of the drawing. Widths of profiles, battens and plates are symbols.",
    ),
    say("paper.left", "left"),
    say("paper.right", "right"),
    say("paper.left_side", "Left side"),
    say("paper.right_side", "Right side"),
    say("paper.left_hand", "left"),
    say("paper.right_hand", "right"),
    say("paper.front", "front"),
    say("paper.back", "back"),
    say("paper.panel", "panel {id}, {length}"),
    say("paper.board", "baseboard {id}, {length}"),
    say("paper.channel", "top channel {id}, {length}"),
    say("paper.joint_profile", "joint profile {id}, {length}"),
    say("paper.end_batten", "end batten {id}, {length}"),
    say("paper.corner_cap", "corner cap {id}, {length}"),
    say("paper.end_cap", "end cap {id}, {length}"),
    say("paper.upright", "wind-flap upright {id}, {length}"),
    say("paper.plate", "splice plate {id}"),
    say("paper.hook", "rope hook {id}, {x} from zero"),
    say("paper.opening", "opening, {width} clear"),
    say("paper.row_openings", "Openings"),
    say("paper.row_panels", "Panels"),
    say("paper.row_boards", "Baseboards"),
    say("paper.row_channels", "Top channel"),
    say("paper.row_posts", "Posts from zero"),
    say("paper.row_joints", "Joints from zero"),
    say("paper.row_hooks", "Hooks from zero"),
    say("paper.zero", "zero"),
    say("paper.channel_top", "channel top"),
    say("paper.panel_top", "panel top"),
    say("paper.channel_underside", "channel foot"),
    say("paper.board_top", "board top"),
    say("paper.grade", "grade"),
    say("paper.panel_foot", "panel foot"),
    say("paper.post_top", "post top"),
    say("paper.hip_rail", "hip rail"),
    say("paper.ends", "Ends (not to scale)"),
    say("paper.tunnel", "The tunnel and its wall"),
    say("paper.tunnel_told", "Both sides as seen from outside, front to back. {summary}"),
    say("paper.enlarged", "Heights are drawn {times} times larger than lengths."),
    say("paper.end", "{end}: {what}"),
    say("paper.end_film", "film end wall"),
    say("paper.end_rigid", "rigid end wall"),
    say("paper.end_open", "open end"),
    say("paper.jamb", "door jamb"),
    say("paper.cutting", "Cut {repeat} × like this: {role}, pattern {number}"),
    say(
        "paper.cutting_told",
        "{repeat} of {item} cut alike, with a kerf of {kerf}; what is left over is named for reuse.",
    ),
    say("paper.stock_line", "{sku}: {item} {on_hand}"),
    say("paper.on_hand", "(on hand)"),
    say("paper.kerf", "kerf {kerf}; scale 1:{scale}"),
    say("paper.rip", "rip {height}"),
    say("paper.bands", "bands of {height}"),
    say("paper.rest", "left over: {size}; write {name} on it and keep it"),
    say("paper.role_sheet", "sheet"),
    say("paper.role_baseboard", "baseboard"),
    say("paper.role_top_channel", "top channel"),
    say("paper.role_joint_profile", "joint profile"),
    say("paper.role_film_channel", "film channel"),
    say("paper.role_corner_cap", "corner cap"),
    say("paper.role_end_cap", "end cap"),
    say("paper.role_end_batten", "end batten"),
    say("paper.role_packing", "packing"),
    say("paper.template", "Drilling template {id}: {count} × panel {length} × {height}"),
    say(
        "paper.template_told",
        "The outside face is seen. Measure along the panel from its front end, at the {zero} hand, and up from its foot.",
    ),
    say("paper.hole_line", "At {place}: {count} holes of {diameter}, at {heights} above the foot"),
    say(
        "paper.slot_line",
        "At {place}: {count} slots {height} high and {length} long, at {heights} above the foot",
    ),
    say("paper.template_turned", "On panels of the left side the front end is at the right hand."),
    say("paper.panels_line", "For: {panels}"),
    say("paper.section", "Fastening {name}: {role}"),
    say("paper.section_told", "Cut through the wall, outside at the left. {layers}"),
    say("paper.screw", "screw {sku}: {item}"),
    say("paper.washer", "washer {sku}: {item}"),
    say("paper.drive", "drive: {drive}"),
    say("paper.grip", "layers under the head {size}"),
    say("paper.shortest", "shortest screw that holds {size}"),
    say("paper.longest", "longest screw that clears {size}"),
    say("paper.pilot", "pilot hole {size}"),
    say("paper.clearance", "clearance hole {size} in {layers}"),
    say("paper.count", "{count} pieces: {places}"),
    say("paper.outside", "outside"),
    say("paper.inside", "inside"),
    say("paper.detail", "Detail {name}: {what} at {label}, {run}"),
    say(
        "paper.detail_told",
        "Cut level, seen from above, outside below. Panel {panel}. Round posts and widths of parts are symbols.",
    ),
    say("paper.at_joint", "panel joint"),
    say("paper.at_end_film", "film end"),
    say("paper.at_end_open", "open end"),
    say("paper.at_end_rigid", "rigid end"),
    say("paper.at_jamb", "door jamb"),
    say("paper.at_upright", "wind-flap upright"),
    say("paper.joint_gap", "gap {size}"),
    say("paper.side_gap", "panel to web {size}"),
    say("paper.screw_line", "screw line {place}"),
    say("paper.panel_end", "panel end {place}"),
    say("paper.off_centre", "{size} from the centre"),
    say("paper.on_centre", "on the centre"),
    say("paper.part_panel", "panel"),
    say("paper.part_gap", "gap between the panels"),
    say("paper.part_post", "post"),
    say("paper.part_bow", "bow"),
    say("paper.part_jamb", "jamb"),
    say("paper.part_stand_off", "stand-off"),
    say("paper.part_set_back", "set-back"),
    say("paper.part_baseboard", "baseboard"),
    say("paper.part_joint_profile", "joint profile"),
    say("paper.part_film_channel", "film channel"),
    say("paper.part_top_channel", "top channel"),
    say("paper.part_end_cap", "end cap"),
    say("paper.part_corner_cap", "corner cap"),
    say("paper.part_splice_plate", "splice plate"),
    say("paper.part_packing", "packing"),
    say("paper.part_shim", "shim"),
    say("paper.fix_board_upper", "board, upper lip"),
    say("paper.fix_board_lower", "board, lower lip"),
    say("paper.fix_locating", "panel, locating"),
    say("paper.fix_field", "panel, field"),
    say("paper.fix_joint_profile", "joint profile"),
    say("paper.fix_top_channel", "top channel"),
    say("paper.fix_batten", "end batten"),
    say("paper.fix_jamb_cap", "jamb cap"),
    say("paper.packet", "Crew's packet: shin wall"),
    say("paper.packet_cautions", "Read first"),
    say("paper.packet_outcome", "What the checks say"),
    say("paper.packet_wall", "The wall"),
    say("paper.packet_order", "Order list"),
    say("paper.packet_others", "Supplied by others"),
    say("paper.packet_cutting", "Cutting"),
    say("paper.packet_drilling", "Drilling templates"),
    say("paper.packet_marks", "Marks along each run"),
    say("paper.packet_screws", "Screws and details"),
    say("paper.packet_steps", "Steps"),
    say("paper.packet_tools", "Tools"),
    say("paper.packet_parts", "Parts"),
    say("paper.packet_hold", "Stop here"),
    say("paper.packet_signed", "Checked by, name and date:"),
    say("paper.packet_as_built", "As built"),
    say(
        "paper.packet_as_built_told",
        "Measure each post from the run's zero with one tape, and write what you read.",
    ),
    say("paper.packet_spares", "Spares to hand over"),
    say("paper.packet_care", "Care"),
    say("paper.cover_job", "Job"),
    say("paper.cover_what", "What"),
    say("paper.cover_plan", "Plan"),
    say("paper.cover_catalog", "Catalog"),
    say("paper.cover_where", "Where"),
    say("paper.cover_when", "When"),
    say(
        "paper.what",
        "{length} of wall: panels {panels}, panel joints {joints}, sheets {sheets}, {mass} kg in all.",
    ),
    say("paper.outcome_pass", "Every check that was made passes."),
    say("paper.outcome_provided", "Every check passes with the measures that this plan contains."),
    say("paper.outcome_caution", "Somebody has to decide or do the following."),
    say("paper.outcome_fail", "Do not build before these are settled."),
    say("paper.outcome_not_assessed", "Not assessed."),
    say("paper.head_from_zero", "From zero"),
    say("paper.head_what", "What"),
    say("paper.head_done", "Done"),
    say("paper.head_post", "Post"),
    say("paper.head_planned", "Planned"),
    say("paper.head_built", "Measured"),
    say("paper.head_note", "Note"),
    say("paper.head_sku", "Sku"),
    say("paper.head_item", "Item"),
    say("paper.head_packs", "Packs"),
    say("paper.head_holds", "Quantity"),
    say("paper.head_price", "Price"),
    say("paper.head_amount", "Amount"),
    say("paper.total", "Total, tax excluded: {currency} {total}"),
    say("paper.spare", "{count} of {sku}: {item}"),
    say("paper.unit_H87", "pieces"),
    say("paper.unit_MTR", "m"),
    say("paper.care_1", "Wash the sheets with water and mild soap; no solvent, no scraper."),
    say(
        "paper.care_2",
        "Look at screws, joints and tape after the first hot and the first cold spell, then each year.",
    ),
    say("paper.care_3", "Keep soil and snow off the sheets; tighten no screw until its washer dimples."),
    say("paper.care_4", "Replace a sheet that is cracked or holds water, and tape both ends of the new one."),
    say("paper.labels", "Labels of cut pieces"),
    say("paper.side_up", "this side out"),
    say("paper.scale", "scale 1:{scale}"),
)
"""Every message that paper says"""
_MESSAGES: Final = {message.code.removeprefix("paper."): message for message in _TEXTS}


@dataclass(frozen=True, slots=True)
class Words:
    """Writes the words of paper in one language."""

    spoken: Language = ENGLISH

    @property
    def language(self) -> str:
        """The BCP 47 tag of the language."""
        return self.spoken.tag

    def __call__(self, name: str, /, **values: str | int) -> str:
        """Fill a message in."""
        return Writer(self.spoken).text(filled(_MESSAGES[name], values))

    def role(self, kind: str, name: str) -> str:
        """Name a role; one that the table does not know is written out as it is."""
        known = f"{kind}_{name}"
        return self(known) if known in _MESSAGES else name.replace("_", " ")
