"""Metrics in the Prometheus text format.

Rules of this file
------------------
- Labels have few values: route templates, methods, statuses, stages; never an address, a key or a dealer.
- A registry belongs to one application, so that two in a process do not mix.
- State that is known elsewhere (store, queue) is read when it is scraped.
"""

from collections.abc import Callable, Iterator, Mapping
from typing import Final

from prometheus_client import CollectorRegistry, Counter, Histogram, generate_latest
from prometheus_client.core import GaugeMetricFamily
from prometheus_client.registry import Collector

MEDIA_TYPE: Final = "text/plain; version=0.0.4; charset=utf-8"
_SECONDS: Final = (0.001, 0.0025, 0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 2.5, 5.0, 10.0)
"""Bounds of the latency buckets [s]"""


class _Read(Collector):
    """Gauges that are read when they are scraped."""

    def __init__(self, gauges: Mapping[str, tuple[str, Callable[[], float]]]) -> None:
        self._gauges = gauges

    def collect(self) -> Iterator[GaugeMetricFamily]:
        """Read every gauge."""
        for name, (help_text, read) in self._gauges.items():
            yield GaugeMetricFamily(name, help_text, value=float(read()))


class Metrics:
    """What one application counts."""

    METHODS: Final = frozenset(
        {"GET", "HEAD", "POST", "PUT", "DELETE", "PATCH", "OPTIONS", "TRACE", "QUERY", "CONNECT"}
    )

    def __init__(self) -> None:
        self.registry = CollectorRegistry()
        self._answers = Counter(
            "shin_wall_answers", "Answers sent", ["route", "method", "status"], registry=self.registry
        )
        self._latency = Histogram(
            "shin_wall_answer_seconds",
            "Time to answer [s]",
            ["route"],
            buckets=_SECONDS,
            registry=self.registry,
        )
        self._stages = Histogram(
            "shin_wall_stage_seconds",
            "Time of a stage [s]",
            ["stage"],
            buckets=_SECONDS,
            registry=self.registry,
        )
        self._cache = Counter(
            "shin_wall_cache", "Look-ups of finished answers", ["level", "outcome"], registry=self.registry
        )
        self._solved = Counter(
            "shin_wall_solved",
            "Answers made anew by whether they are proven cheapest",
            ["proven"],
            registry=self.registry,
        )

    def answered(
        self, route: str, method: str, status: int, seconds: float, stages: Mapping[str, float]
    ) -> None:
        """Count an answer."""
        self._answers.labels(route, method if method in self.METHODS else "other", str(status)).inc()
        self._latency.labels(route).observe(seconds)
        for stage, time in stages.items():
            self._stages.labels(stage).observe(time)

    def looked_up(self, level: str, *, hit: bool) -> None:
        """Count a look-up of a finished answer."""
        self._cache.labels(level, "hit" if hit else "miss").inc()

    def solved(self, answer: object) -> None:
        """Count an answer made anew by whether it is proven cheapest; one that makes no such claim is not counted."""
        found = answer if isinstance(answer, dict) else {}
        proven = found.get("proven_optimal", found.get("summary", {}).get("proven_optimal"))
        if proven is not None:
            self._solved.labels("yes" if proven else "no").inc()

    def watch(self, gauges: Mapping[str, tuple[str, Callable[[], float]]]) -> None:
        """Read these gauges at every scrape, in a thread."""
        self.registry.register(_Read(gauges))

    def text(self) -> bytes:
        """Write everything."""
        return generate_latest(self.registry)
