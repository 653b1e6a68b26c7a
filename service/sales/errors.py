"""What can be wrong with a quote or an order.

Rules of this file
------------------
- Errors carry their causes as data; they know nothing of HTTP.

The tree::

    SalesError
    |-- QuoteError
    |   |-- TokenUnreadable     not three parts of base64url, another type, or a signature that does not hold
    |   |-- AlgorithmRefused    signed by anything but Ed25519
    |   |-- SigningKeyUnknown   signed by a key that this service does not have, or no longer
    |   |-- QuoteExpired        no longer to be ordered from
    |   |-- QuoteGone           what it was made from is no longer kept
    |   |-- QuoteSuperseded     the planner now comes to another bill
    |   `-- QuoteOfAnother      made for another dealer
    `-- OrderError
        |-- OrderMixed          two currencies, two tiers or one id twice in one order
        |-- OnHandClaimedTwice  the same stock of the customer is cut up in two structures
        `-- StructureRefused    a structure of the order cannot be planned
"""

from service.planner.errors import PlanError


class SalesError(PlanError):
    """A quote or an order that cannot be given."""


class QuoteError(SalesError):
    """A token that does not stand for a quote of this service."""


class TokenUnreadable(QuoteError):
    """No token, or one that was altered."""


class AlgorithmRefused(QuoteError):
    """A token signed in another way than this service signs."""


class SigningKeyUnknown(QuoteError):
    """A token signed by a key that is not among ours."""


class QuoteExpired(QuoteError):
    """A quote that is past its last moment."""


class QuoteGone(QuoteError):
    """A quote whose catalog revision, or tier in it, is no longer there."""


class QuoteSuperseded(QuoteError):
    """A quote whose bill this planner no longer comes to."""


class QuoteOfAnother(QuoteError):
    """A quote that another dealer made."""


class OrderError(SalesError):
    """Structures that cannot be one order."""


class OrderMixed(OrderError):
    """What must be one on an order is two."""


class OnHandClaimedTwice(OrderError):
    """More stock on hand is used than there is."""


class StructureRefused(OrderError):
    """A structure of the order cannot be planned; the fields are those of its spec."""
