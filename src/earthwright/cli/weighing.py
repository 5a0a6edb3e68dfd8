"""All bonds of a visit weighed together beside the pages, batch by batch: no page waits for it, and it may be stopped."""

from __future__ import annotations

import hashlib
import pickle
import threading
from collections import OrderedDict
from typing import cast

from ..base.elsewhere import Elsewhere
from ..evidence.network import sampler
from ..evidence.network.network import Net
from ..evidence.network.proposal import Outlook
from ..evidence.network.sampler import Batch, batch

WEIGH = "weigh"
KEPT = 16  # networks whose draws are held


class Weighing:
    """Holds draws that somebody else makes. One network at a time: a newer one takes the place of the older."""

    def __init__(self) -> None:
        self.done: OrderedDict[str, list[Batch]] = OrderedDict()
        self.stopped: set[str] = set()
        self.begun = ""
        self.of = 0
        self.visit = ""
        sampler.made_by = self.batches

    @property
    def counted(self) -> tuple[int, int]:
        """How many batches there are of how many."""
        return len(self.done.get(self.begun, [])), self.of

    def batches(self, net: Net) -> list[Batch]:
        """The draws of a network. Raises Elsewhere until they are there."""
        work = pickle.dumps((net.data, net.given))
        key = hashlib.sha256(repr((net.data, net.given)).encode()).hexdigest()
        if len(found := self.done.get(key, [])) == net.model.batches:
            self.done.move_to_end(key)
            return found
        raise Elsewhere(WEIGH, key, (work, net.model.batches))

    def begin(self, work: Elsewhere, visit: str = "") -> None:
        """See to it that it is being done, for a visit, unless somebody stopped it."""
        self.visit = visit
        if work.key in self.stopped or (work.key == self.begun and self.busy()):
            return
        if self.begun != work.key:
            self.let_go()
        self.done.setdefault(work.key, [])  # what was made before it was stopped need not be made again
        while len(self.done) > KEPT:
            self.done.popitem(last=False)
        content, count = cast("tuple[bytes, int]", work.work)
        self.begun, self.of = work.key, count
        self.start(content, self.done[work.key], count)

    def on_with(self, visit: str) -> bool:
        """Whether draws are being made for a visit."""
        return self.visit == visit and self.busy()

    def stop(self) -> None:
        """Let go of what is being weighed; it is not begun again by itself."""
        if self.busy():
            self.stopped.add(self.begun)
            self.let_go()

    def busy(self) -> bool:
        """Whether draws are being made."""
        raise NotImplementedError

    def start(self, work: bytes, held: list[Batch], count: int) -> None:
        """Begin to add batches to those held until there are so many."""
        raise NotImplementedError

    def let_go(self) -> None:
        """Make no more of them."""
        raise NotImplementedError


class InThread(Weighing):
    """The draws of a server, beside its answers."""

    _thread: threading.Thread | None = None
    _gone: threading.Event = threading.Event()

    def busy(self) -> bool:
        """Whether draws are being made."""
        return self._thread is not None and self._thread.is_alive() and not self._gone.is_set()

    def start(self, work: bytes, held: list[Batch], count: int) -> None:
        """Begin to add batches to those held until there are so many."""
        self._gone = gone = threading.Event()

        def make() -> None:
            net = Net(*pickle.loads(work))  # packed by ourselves
            outlook = Outlook(net)
            while len(held) < count and not gone.is_set():
                held.append(batch(net, outlook, len(held)))

        self._thread = threading.Thread(target=make, daemon=True)
        self._thread.start()

    def let_go(self) -> None:
        """Make no more of them; the batch in hand is finished and kept."""
        self._gone.set()

    def wait_for(self, work: Elsewhere) -> None:
        """Have it done now, for a paper that cannot be without it."""
        self.stopped.discard(work.key)
        self.begin(work)
        if self._thread is not None:
            self._thread.join()
