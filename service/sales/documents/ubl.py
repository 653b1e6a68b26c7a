"""Orders and quotations as UBL 2.1 documents (OASIS Standard, 4 November 2013; ISO/IEC 19845:2015).

Rules of this file
------------------
- Documents are built as trees, element by element in the order of the schema, and never from text.
- What is sold is the pack: the quantity of a line counts packs, in a Rec 21 code behind an X, or pieces where none is named.
- Money has its currency on every amount; tax is a category, no amount: prices are without it.
- An empty element says nothing and is left out.
"""

import re
from collections.abc import Callable, Mapping
from typing import Any, Final

from lxml import etree

from service.sales.shapes import OrderLineOut, OrderOut

CBC: Final = "urn:oasis:names:specification:ubl:schema:xsd:CommonBasicComponents-2"
CAC: Final = "urn:oasis:names:specification:ubl:schema:xsd:CommonAggregateComponents-2"
_ROOT: Final = "urn:oasis:names:specification:ubl:schema:xsd:{name}-2"
_NOT_XML: Final = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
"""What XML 1.0 has no room for (section 2.2)"""
_GTIN: Final = "0160"
"""Scheme of global trade item numbers among the ICD codes of ISO/IEC 6523"""
_TAX_SCHEME: Final = "VAT"
"""The tax that the categories are of, by its name in UN/CEFACT 5153"""
_HARMONIZED: Final = "HS"
"""Scheme of customs codes, the Harmonized System"""
Element = etree._Element  # noqa: SLF001  # the library has no public name for its type


def order_document(order: OrderOut) -> bytes:
    """Write an order as a UBL Order.

    Parameters
    ----------
    order
        The order.
    """
    root = _root("Order")
    _head(root, order, "DocumentCurrencyCode")
    _text(root, "LineCountNumeric", len(order["lines"]))
    _party(root, "BuyerCustomerParty", order.get("buyer") or {})
    _party(root, "SellerSupplierParty", order.get("seller") or {})
    _delivery(root, order)
    if order.get("payment_terms"):
        _text(_part(root, "PaymentTerms"), "Note", order["payment_terms"])
    _totals(root, "AnticipatedMonetaryTotal", order)
    for line in order["lines"]:
        _line_item(_part(root, "OrderLine"), line)
    return _bytes(root)


def quotation_document(order: OrderOut) -> bytes:
    """Write the same as a UBL Quotation, from the seller to the buyer."""
    root = _root("Quotation")
    _head(root, order, "PricingCurrencyCode")
    _text(root, "LineCountNumeric", len(order["lines"]))
    _party(root, "SellerSupplierParty", order.get("seller") or {})
    _party(root, "BuyerCustomerParty", order.get("buyer") or {})
    _delivery(root, order)
    if order.get(
        "payment_terms"
    ):  # a Quotation has no place for terms of payment but the conditions of the offer
        _text(_part(root, "TransactionConditions"), "Description", order["payment_terms"])
    _totals(root, "QuotedMonetaryTotal", order)
    for line in order["lines"]:
        quoted = _part(root, "QuotationLine")
        _text(quoted, "ID", line["line"])
        _line_item(quoted, line)
    return _bytes(root)


DOCUMENTS: Final[Mapping[str, Callable[[OrderOut], bytes]]] = {
    "order": order_document,
    "quotation": quotation_document,
}
"""The documents that there are"""


def _root(name: str) -> Element:
    namespace = _ROOT.format(name=name)
    root = etree.Element(f"{{{namespace}}}{name}", nsmap={None: namespace, "cac": CAC, "cbc": CBC})
    _text(root, "UBLVersionID", "2.1")
    return root


def _bytes(root: Element) -> bytes:
    return etree.tostring(root, xml_declaration=True, encoding="UTF-8")


def _text(parent: Element, name: str, value: object, **attributes: str) -> None:
    """Add a basic component; nothing where there is nothing to say."""
    text = _NOT_XML.sub("\ufffd", str(value)) if value is not None else ""
    if text:
        etree.SubElement(parent, f"{{{CBC}}}{name}", attributes).text = text


def _part(parent: Element, name: str) -> Element:
    return etree.SubElement(parent, f"{{{CAC}}}{name}")


def _head(root: Element, order: OrderOut, currency: str) -> None:
    """Add what both documents begin with; the order of a Quotation has no place between for more."""
    _text(root, "ID", order["order_id"])
    _text(root, "IssueDate", order["ordered_on"])
    for note in (order["note"], order["saving"]["message"]["text"]):
        _text(root, "Note", note)
    _text(root, currency, order["currency"])


def _party(root: Element, role: str, said: Mapping[str, Any]) -> None:
    """Add a buyer or a seller; a document needs one of each, so an unknown one is an empty party."""
    party = _part(_part(root, role), "Party")
    if said.get("id"):
        _text(_part(party, "PartyIdentification"), "ID", said["id"])
    if said.get("name"):
        _text(_part(party, "PartyName"), "Name", said["name"])
    if said.get("address"):
        _address(_part(party, "PostalAddress"), said["address"])
    reach = (("Name", "contact"), ("Telephone", "phone"), ("ElectronicMail", "email"))
    if any(said.get(field) for _, field in reach):
        contact = _part(party, "Contact")
        for name, field in reach:
            _text(contact, name, said.get(field))


def _address(address: Element, said: Mapping[str, Any]) -> None:
    names = (
        ("StreetName", "street"),
        ("CityName", "city"),
        ("PostalZone", "postal_code"),
        ("CountrySubentity", "region"),
    )
    for name, field in names:
        _text(address, name, said.get(field))
    if said.get("country"):
        _text(_part(address, "Country"), "IdentificationCode", said["country"])


def _delivery(root: Element, order: OrderOut) -> None:
    address, day = order.get("deliver_to"), order.get("requested_by")
    if not address and not day:
        return
    delivery = _part(root, "Delivery")
    if address:
        _address(_part(delivery, "DeliveryAddress"), address)
    if day:
        _text(_part(delivery, "RequestedDeliveryPeriod"), "EndDate", day)


def _totals(root: Element, name: str, order: OrderOut) -> None:
    totals = _part(root, name)
    for amount in ("LineExtensionAmount", "TaxExclusiveAmount", "PayableAmount"):
        _text(totals, amount, order["total"], currencyID=order["currency"])


def _line_item(parent: Element, line: OrderLineOut) -> None:
    """Add what is the same for a line of either document."""
    unit, currency = line.get("pack_unit", line["unit"]), line["currency"]
    item = _part(parent, "LineItem")
    _text(item, "ID", line["line"])
    _text(item, "Quantity", line["packs"], unitCode=unit)
    _text(item, "LineExtensionAmount", line["amount"], currencyID=currency)
    price = _part(item, "Price")
    _text(price, "PriceAmount", line["pack_price"], currencyID=currency)
    _text(price, "BaseQuantity", 1, unitCode=unit)
    _item(_part(item, "Item"), line)


def _item(item: Element, line: OrderLineOut) -> None:
    _text(item, "Description", line["description"])
    _text(item, "PackQuantity", line["pack_size"], unitCode=line["unit"])
    _text(item, "Name", line["description"] or line["sku"])
    _text(_part(item, "SellersItemIdentification"), "ID", line["sku"])
    if line.get("gtin"):
        _text(_part(item, "StandardItemIdentification"), "ID", line["gtin"], schemeID=_GTIN)
    if line.get("customs_code"):
        code = _part(item, "CommodityClassification")
        _text(code, "ItemClassificationCode", line["customs_code"], listID=_HARMONIZED)
    if line.get("tax_category"):
        category = _part(item, "ClassifiedTaxCategory")
        _text(category, "ID", line["tax_category"])
        _text(_part(category, "TaxScheme"), "ID", _TAX_SCHEME)
