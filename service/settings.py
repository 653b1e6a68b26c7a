"""Settings of the service, from the environment.

Rules of this file
------------------
- Every setting has a default that is safe on a bare machine, a bound, and a sentence.
- Nothing reads a setting at import: `create_app` is given one `Settings`.
- Secrets are `SecretStr`, so that no log or error shows them.
"""

from ipaddress import IPv4Network, IPv6Network
from pathlib import Path
from typing import Annotated, Final

from pydantic import Field, SecretStr
from pydantic_settings import BaseSettings, SettingsConfigDict

MEBIBYTE: Final = 1024 * 1024
"""One mebibyte [B]"""


class Settings(BaseSettings):
    """What an operator can set, each as `SHIN_WALL_<NAME>`."""

    model_config = SettingsConfigDict(env_prefix="SHIN_WALL_", frozen=True)

    host: str = "127.0.0.1"
    """Address to listen on"""
    port: int = Field(default=8000, ge=0, le=65535)
    """Port to listen on; 0 takes a free one [-]"""
    public_url: str = Field(default="", pattern=r"^(?:https?://[^\s/?#]+(?:/[^\s?#]*[^\s?#/])?)?$")
    """Where clients reach the service, without a closing slash; empty leaves addresses relative"""

    open_mode: bool = True
    """Answer without a key; holds on loopback and with the embedded catalogs only"""
    open_origins: tuple[str, ...] = ()
    """Web origins whose pages may call the service in open mode"""
    form_key: str = Field(default="", pattern=r"^[A-Za-z0-9_.\-]{0,200}$")
    """Public key of a shop's page that the page at /form asks with; empty where open mode needs none"""
    metrics_key: SecretStr | None = None
    """Bearer key of the metrics scraper; without one, metrics are answered on loopback only"""

    key_pepper: SecretStr = Field(default=SecretStr(""), max_length=64)
    """The installation's own secret in the digests of keys, the same for every worker"""
    catalog_folder: Path | None = None
    """Where the embedded store keeps what is published; without one it lasts as long as the process"""
    redis_url: SecretStr | None = None
    """Where the shared catalogs are, as the client writes it; without one, the embedded catalogs are used"""
    redis_sentinels: tuple[Annotated[str, Field(pattern=r"^[^\s:]+:[0-9]{1,5}$")], ...] = ()
    """Sentinels that know the primary, each as host:port"""
    redis_service: str = "shin-wall"
    """Name under which the sentinels know the primary"""
    redis_prefix: str = Field(default="shin-wall", pattern=r"^[A-Za-z0-9:_-]{1,60}$")
    """What the names of all keys in the server begin with"""
    state_file: Path | None = None
    """Where a worker keeps the last good catalogs and key digests, to start without the server"""
    shared_plan_seconds: int = Field(default=0, ge=0, le=31_536_000)
    """How long finished plans are kept in the server; 0 keeps none there [s]"""

    max_body_bytes: int = Field(default=256 * 1024, ge=1024, le=16 * MEBIBYTE)
    """Largest request body of a plan or a cut list [B]"""
    max_catalog_bytes: int = Field(default=2 * MEBIBYTE, ge=1024, le=16 * MEBIBYTE)
    """Largest catalog document or price list [B]"""
    max_order_bytes: int = Field(default=4 * MEBIBYTE, ge=1024, le=16 * MEBIBYTE)
    """Largest request body of an order [B]"""
    solver_threads: int = Field(default=2, ge=1, le=64)
    """Plans worked on at once by one worker; more give no more plans a second, two let a short one pass a long one [-]"""
    solver_queue: int = Field(default=64, ge=0, le=10_000)
    """Plans that may wait for a thread before new ones are turned away [-]"""
    answer_seconds: float = Field(default=60, ge=0.1, le=3600)
    """How long a caller waits for an answer before the work is stopped [s]"""
    plan_units: int = Field(default=3_000_000, ge=1_000, le=1_000_000_000)
    """Work that a plan may take before the best so far is answered, about a microsecond each [units]"""
    alternatives_units: int = Field(default=6_000_000, ge=1_000, le=1_000_000_000)
    """The same for alternatives, all candidates together [units]"""
    order_units: int = Field(default=6_000_000, ge=1_000, le=1_000_000_000)
    """The same for the structures of an order, all together; quotes bring their own [units]"""
    cut_list_units: int = Field(default=10_000_000, ge=1_000, le=1_000_000_000)
    """The same for a cut list [units]"""
    plan_cache_bytes: int = Field(default=64 * MEBIBYTE, ge=0, le=4096 * MEBIBYTE)
    """Finished answers kept in a worker [B]"""
    rate_limit: int = Field(default=600, ge=1, le=10_000_000)
    """Requests that one key may make per minute [-]"""

    planners: int = Field(default=0, ge=0, le=256)
    """Processes of a worker that plan batches; 0 takes one for each processor [-]"""
    line_units: int = Field(default=1_000_000, ge=1_000, le=1_000_000_000)
    """Work that one structure of a batch or a job may take before the best so far is answered [units]"""
    batches: int = Field(default=8, ge=1, le=1000)
    """Batches that one worker runs at once [-]"""
    dealer_batches: int = Field(default=4, ge=1, le=1000)
    """Batches of one dealer that one worker runs at once, so that some are left for others [-]"""
    structure_limit: int = Field(default=60_000, ge=1, le=100_000_000)
    """Structures of batches and jobs that one key may send per minute; more wait [-]"""
    batch_idle_seconds: float = Field(default=60, ge=0.1, le=3600)
    """How long a batch's caller may send nothing before it is taken for gone [s]"""
    batch_spool_bytes: int = Field(default=256 * MEBIBYTE, ge=MEBIBYTE, le=64 * 1024 * MEBIBYTE)
    """Answers of one batch that may wait on disk for a caller that does not read yet [B]"""
    visitor_rate_limit: int = Field(default=120, ge=1, le=10_000_000)
    """Requests that one visitor of shop pages, or reader of quotes without a key, may make per minute [-]"""
    trusted_proxies: tuple[IPv4Network | IPv6Network, ...] = ()
    """Networks of the proxies before the service; only what they add to X-Forwarded-For says who a visitor is"""
    signing_keys: SecretStr | None = None
    """JWK set (RFC 7517) of the private Ed25519 keys of quotes, the signing one first; the same for every replica"""
    signing_keys_file: Path | None = None
    """File with that set; without either the store makes one key when it is first needed, and keeps it"""

    queue_url: SecretStr | None = None
    """The Redis of the queue, never the one of the catalogs: it must keep what it is given; without one there are no jobs"""
    jobs: int = Field(default=4, ge=1, le=1000)
    """Jobs of one dealer that run at once [-]"""
    job_structures: int = Field(default=1_000_000, ge=1, le=100_000_000)
    """Structures of one job at most [-]"""
    job_bytes: int = Field(default=512 * MEBIBYTE, ge=MEBIBYTE, le=64 * 1024 * MEBIBYTE)
    """What one job may hold in the queue's server, its list and its results, compressed [B]"""
    job_seconds: int = Field(default=86_400, ge=60, le=31_536_000)
    """How long a job and its results are kept [s]"""

    log_level: str = Field(default="INFO", pattern="^(?:DEBUG|INFO|WARNING|ERROR)$")
    """Least severe line that is written"""
    telemetry: bool = False
    """Send traces and metrics by OpenTelemetry; the standard OTEL_ variables say where"""
    drain_seconds: int = Field(default=20, ge=1, le=600)
    """How long a stopping worker finishes what it accepted [s]"""
