"""From settings to the queue of jobs."""

from service.batch.queue import Queue
from service.settings import Settings


def open_queue(settings: Settings) -> Queue | None:
    """Make the queue that the settings ask for; None where there is none.

    Parameters
    ----------
    settings
        The operator's settings.
    """
    if settings.queue_url is None:
        return None
    url = settings.queue_url.get_secret_value()
    return Queue(url, settings.redis_prefix, settings.job_seconds, settings.job_bytes)
