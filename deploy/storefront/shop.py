"""A shop that sells what the form quotes: shows the page, verifies each quote by the published keys, posts the order.

Usage: SERVICE=http://127.0.0.1:8000 PAGE_KEY=.. ORDER_KEY=.. python shop.py PORT    (needs joserfc; keys: issue_key.py)
"""

import html
import json
import os
import sys
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any
from urllib.request import Request, urlopen

from joserfc import jws
from joserfc.jwk import KeySet

HERE, SERVICE = Path(__file__).parent, os.environ.get("SERVICE", "http://127.0.0.1:8000")
FILES = {"/": ("index.html", "text/html"), "/cart.js": ("cart.js", "text/javascript")}
POLICY = f"default-src 'none'; script-src 'self' {SERVICE}; connect-src 'self' {SERVICE}"
REGISTRY = jws.JWSRegistry(algorithms=["Ed25519"])


def ask(path: str, body: object = None) -> Any:  # noqa: ANN401  # a JSON value
    """Ask the service with the shop's own key, which no page ever sees."""
    headers = {"Content-Type": "application/json"}
    if key := os.environ.get("ORDER_KEY"):
        headers["X-API-Key"] = key
    sent = Request(SERVICE + path, json.dumps(body).encode() if body else None, headers)  # noqa: S310  # the operator's address
    with urlopen(sent, timeout=30) as answer:  # noqa: S310  # as above
        return json.load(answer)


def order(token: str) -> str:
    """Order a quote; the price that the shopper saw is signed, nothing else that a browser sends is believed."""
    keys = KeySet.import_key_set(ask("/.well-known/jwks.json"))
    claims = json.loads(jws.deserialize_compact(token, keys, registry=REGISTRY).payload)
    made = ask("/v1/orders", {"quotes": [token], "reference": "web"})
    return f"Ordered for {made['currency']} {made['total']}, as quoted: {claims['total']}."


class Shop(BaseHTTPRequestHandler):
    """The shop's pages and its till."""

    def _say(self, status: int, kind: str, text: str) -> None:
        self.send_response(status)
        self.send_header("Content-Type", f"{kind}; charset=utf-8")
        self.send_header("Content-Security-Policy", POLICY)
        self.end_headers()
        self.wfile.write(text.encode())

    def do_GET(self) -> None:
        """Show the page."""
        name, kind = FILES.get(self.path, FILES["/"])
        marks = {"@SERVICE@": SERVICE, "@KEY@": os.environ.get("PAGE_KEY", "")}
        text = (HERE / name).read_text(encoding="utf-8")
        for mark, value in marks.items():
            text = text.replace(mark, html.escape(value))
        self._say(200, kind, text)

    def do_POST(self) -> None:
        """Take an order."""
        token = self.rfile.read(min(int(self.headers["Content-Length"]), 100_000)).decode("ascii", "replace")
        try:
            self._say(200, "text/plain", order(token))
        except Exception as error:  # noqa: BLE001  # whatever it is, the shopper gets a sentence
            self._say(422, "text/plain", f"Not ordered: {error}")


if __name__ == "__main__":
    ThreadingHTTPServer(("127.0.0.1", int(sys.argv[1])), Shop).serve_forever()
