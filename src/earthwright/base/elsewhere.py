"""Work that is not done where it is asked for: in a phone, where one worker answers and others weigh and print."""

from __future__ import annotations


class Elsewhere(BaseException):
    """What was asked for has to be worked out elsewhere first; whoever answers sees to it and asks again.

    No handler of errors takes it for one, because it passes all of them by.
    kind  what is to be done;  key  the same for the same work;  work  what whoever does it has to know
    """

    def __init__(self, kind: str, key: str, work: object) -> None:
        super().__init__(kind, key)
        self.kind, self.key, self.work = kind, key, work
