"""What the form itself says, beside its questions.

Rules of this file
------------------
- Each is sent with the descriptor under its name after `form.ui.`; the custom element holds no words of its own.
- `[..]` marks what the element fills in: braces are the messages' own.
"""

from typing import Final

from service.planner.messages import say

WORDS: Final = (
    say("form.ui.units", "Measures in"),
    say("form.ui.imperial", "feet and inches"),
    say("form.ui.metric", "metres and millimetres"),
    say("form.ui.usual", "Left empty: [value]."),
    say("form.ui.example", "Such as [value]."),
    say("form.ui.between", "From [least] to [greatest]."),
    say("form.ui.needed", "needed"),
    say("form.ui.yes", "Yes"),
    say("form.ui.no", "No"),
    say("form.ui.add", "Add a door"),
    say("form.ui.remove", "Take out this door"),
    say("form.ui.take", "Use [value]"),
    say("form.ui.price", "Price"),
    say("form.ui.price_waits", "Fill in the bays and the distance from post to post to see the price."),
    say("form.ui.price_held", "There is no price yet: some answers need another look."),
    say("form.ui.working", "Working it out .."),
    say("form.ui.away", "The service cannot be reached. What you typed is kept; we keep trying."),
    say("form.ui.back", "The service answers again."),
    say("form.ui.slow", "Too many questions in a short time. We go on in [seconds] s."),
    say("form.ui.tax", "Tax and freight are not in it."),
    say("form.ui.ships", "Ready to ship in [days] days."),
    say("form.ui.drawing", "Drawing of the wall"),
    say("form.ui.drawing_hint", "Point at a part to light it up."),
    say("form.ui.look", "Good to know"),
    say("form.ui.care", "Needs attention"),
    say("form.ui.other", "Other walls to consider"),
    say("form.ui.compare", "Show what would cost less"),
    say("form.ui.none_cheaper", "Nothing else to suggest."),
    say("form.ui.save", "Save this price"),
    say("form.ui.saved", "Saved as [name]. The price holds until [date]."),
    say("form.ui.expired", "This price held until [date]. Save it anew for the price of today."),
    say("form.ui.link", "Link to this price"),
    say("form.ui.copy", "Copy the link"),
    say("form.ui.copied", "Copied."),
    say("form.ui.packet", "Building instructions (PDF)"),
    say("form.ui.print", "Print"),
    say("form.ui.clear", "Start anew"),
    say("form.ui.fix", "[count] answers need another look."),
    say("form.ui.fix_one", "One answer needs another look."),
    say("form.ui.included", "What you get"),
    say("form.ui.not_included", "What you need besides"),
)
PAGE_TITLE: Final = say("form.page.title", "Build your shin wall")
"""Heading of the page that shows the form"""
PAGE_LEAD: Final = say(
    "form.page.lead",
    "A few measures of your tunnel give a price, a drawing and the instructions to build by.",
)
"""What the page says below its heading"""
