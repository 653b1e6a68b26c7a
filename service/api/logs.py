"""Structured logs: one JSON object per line, UTC, with the request id.

Rules of this file
------------------
- Values are encoded as JSON, so that nothing sent by a caller can begin a new line.
- No header, no body and no address is ever logged: they may hold keys.
"""

import logging
import sys

import orjson
import structlog


def configure(level: str) -> None:
    """Write log lines of this level and above to the standard error stream.

    Parameters
    ----------
    level
        Name of the least severe level.
    """
    structlog.configure(
        processors=[
            structlog.contextvars.merge_contextvars,
            structlog.processors.add_log_level,
            structlog.processors.TimeStamper(fmt="iso", utc=True),
            structlog.processors.format_exc_info,
            structlog.processors.JSONRenderer(serializer=_dump),
        ],
        wrapper_class=structlog.make_filtering_bound_logger(logging.getLevelNamesMapping()[level]),
        logger_factory=structlog.BytesLoggerFactory(file=sys.stderr.buffer),
        cache_logger_on_first_use=False,
    )


def _dump(event: dict[str, object], **_: object) -> bytes:
    return orjson.dumps(event, default=str)
