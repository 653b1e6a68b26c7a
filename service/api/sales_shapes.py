"""The request bodies of quotes and orders, ready to validate."""

from typing import Final

from pydantic import TypeAdapter

from service.sales.shapes import OrderRequest, QuoteRequest, TokenRequest

QUOTE_REQUEST: Final = TypeAdapter(QuoteRequest)
ORDER_REQUEST: Final = TypeAdapter(OrderRequest)
TOKEN_REQUEST: Final = TypeAdapter(TokenRequest)
