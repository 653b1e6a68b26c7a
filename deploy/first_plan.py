"""Post the demo structure to a running service and print what came back in words.

Usage: python deploy/first_plan.py ADDRESS [FILE]
"""

import json
import sys
from pathlib import Path
from urllib.request import Request, urlopen

from service.summary import summarise


def main(address: str, file: str = str(Path(__file__).with_name("demo-structure.json"))) -> None:
    """Ask for a plan and print its summary."""
    body = Path(file).read_bytes()
    asked = Request(f"{address}/v1/plans", data=body, headers={"Content-Type": "application/json"})  # noqa: S310  (the address is the operator's own service)
    with urlopen(asked, timeout=30) as answer:  # noqa: S310  (as above)
        print(summarise(json.load(answer)))  # noqa: T201  (printing is what this command does)


if __name__ == "__main__":
    main(*sys.argv[1:])
