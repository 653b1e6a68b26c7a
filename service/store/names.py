"""Which names the store accepts.

Rules of this module: names become parts of file paths and of server keys, so each form is a short list of characters
that means nothing to either. Whoever builds a path or a key has checked its parts here first.
"""

import re

from service.store.errors import IdentifierInvalid

FORMS = {
    "dealer": re.compile(r"[a-z0-9][a-z0-9-]{0,62}"),
    "catalog": re.compile(r"[a-z0-9][a-z0-9-]{0,62}"),
    "revision": re.compile(r"r-[0-9a-f]{32}"),
    "key": re.compile(r"[0-9a-f]{32,128}"),
    "secret": re.compile(r"[a-z][a-z-]{0,39}"),
    "entry": re.compile(r"[!-~]{1,200}"),
}
"""The permitted form of each kind of name; an entry names a counter or a finished answer [-]."""


def is_name(kind: str, name: object) -> bool:
    """Tell whether a name is of the permitted form.

    Parameters
    ----------
    kind
        One of `FORMS` [-].
    name
        Anything [-].
    """
    return isinstance(name, str) and FORMS[kind].fullmatch(name) is not None


def require(**names: str) -> None:
    """Refuse names that are not of the permitted form.

    Parameters
    ----------
    names
        Names by their kind [-].

    Raises
    ------
    IdentifierInvalid
        At the first name that is not of its form.
    """
    for kind, name in names.items():
        if not is_name(kind, name):
            raise IdentifierInvalid(kind)
