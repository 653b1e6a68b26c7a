"""A worker of jobs: takes tokens from the queue until it is told to stop, and finishes the chunk in hand.

Rules of this file
------------------
- One process plans one chunk at a time; more workers, on any number of machines, are more processes.
"""

import signal
import threading

from dramatiq import Worker

from service.batch.queue import QUEUE, Queue
from service.machine_code import compiled_once
from service.planner.plan import warm_up


def work(queue: Queue) -> None:
    """Work until SIGTERM or SIGINT.

    Parameters
    ----------
    queue
        The queue.
    """
    with compiled_once():
        warm_up()
    ended = threading.Event()
    for name in (signal.SIGTERM, signal.SIGINT):
        signal.signal(name, lambda *_: ended.set())
    worker = Worker(queue.broker, queues={QUEUE}, worker_threads=1)
    worker.start()
    ended.wait()
    worker.stop()
