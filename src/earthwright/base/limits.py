"""How much is taken in, and why no more: every bound on size, depth, length and count that a file or a visitor meets.

A bound stands well above the largest honest case and below what would keep everyone else waiting. Whoever meets one is
told the bound, what was found, and the reason; nothing of what was refused is kept.
"""

from __future__ import annotations

from attrs import frozen


@frozen
class Bound:
    """One bound.

    most  the largest number that is taken;  unit  what is counted;  why  the honest case that it was measured by
    """

    most: int
    unit: str
    why: str

    def refuses(self, found: int) -> bool:
        """Whether a count is beyond it."""
        return found > self.most

    def said(self, found: int | None = None) -> str:
        """The bound in words: ``at most 8 levels are taken (…), found 20000``."""
        tail = "" if found is None else f", found {found}"
        return f"at most {self.most} {self.unit} are taken ({self.why}){tail}"


# ---- a visit book: looked at before it is parsed ----
BOOK = Bound(2_000_000, "bytes", "a works of 1,000 circuits fills a quarter of it")
BOOK_DEPTH = Bound(8, "levels of tables and brackets", "no entry needs more than four")
BOOK_KEY = Bound(80, "characters in a name before an equals sign", "the longest that is known here has 24")
BOOK_WORD = Bound(2_000, "characters without a blank outside quotes", "no number and no date is as long as that")
BOOK_TABLES = Bound(20_000, "entries", "a works of 1,000 circuits with ten tests each has half as many")
BOOK_KEYS = Bound(1_000, "names in one entry", "the fullest entry has 60, and a list of 200 points 600")

# ---- a visit: counted before it is judged ----
STEPS = Bound(12_000, "steps", "a works of 1,000 circuits with ten tests each has 10,000")
MOVES = Bound(1_000, "ends taken off or put back", "at a minute each that is two working days")
REPEATS = Bound(600, "readings of one test of one thing", "a ring with 200 points read three times each")
BOARDS_DEEP = Bound(12, "boards fed one from another", "a large works has five or six")
TOGETHER = Bound(10, "bonds", "each one more costs all the others, and ten are weighed in some seconds")
PLACES_TOGETHER = Bound(30, "places", "ten bonds and the ends of the links between them")

# ---- a table of circuits ----
SHEET = Bound(5_000_000, "bytes", "1,000 circuits in every column fill a fifth of it")
SHEET_ROWS = Bound(5_000, "rows", "one row a circuit, and the largest works has some thousands")
SHEET_COLUMNS = Bound(400, "columns", "a table has fewer than 100")

# ---- readings that an instrument saved ----
SAVED = Bound(500_000, "bytes", "a day of readings has a tenth of it")
SAVED_ROWS = Bound(600, "rows", "a day of readings has 200")
SAVED_COLUMNS = Bound(60, "columns", "instruments write fewer than 30")

# ---- a signature that is drawn ----
STROKES = Bound(60, "strokes in a signature", "a long name written letter by letter has 40")
STROKE_POINTS = Bound(1_500, "points in a signature", "a long name drawn slowly has 600")

# ---- a visit in a journal, grown entry by entry ----
VISIT_ENTRIES = Bound(40_000, "entries in one visit", "a works of 1,000 circuits has 13,000, each corrected twice")
VISIT_TEXT = Bound(20_000_000, "characters of entries in one visit", "a works of 1,000 circuits has a tenth of it")

# ---- an export of a journal ----
EXPORT_NAMES = Bound(200_000, "files", "ten years of a firm with ten inspectors and a photo for each bond")
EXPORT_TOTAL = Bound(20_000_000_000, "bytes unpacked", "ten years of photos of a firm with ten inspectors")
EXPORT_RATIO = Bound(200, "times its packed size", "text of a journal packs to a tenth, photos hardly at all")
EXPORT_SLACK = 5_000_000  # bytes that a packed file may unpack to, however small it is packed

# ---- the pages ----
FORM = Bound(200_000, "bytes in a form", "the longest form holds 2,000 fields of a row of circuits")
UPLOAD = Bound(12_000_000, "bytes in an upload", "a photo of a phone and a visit book have less")
PHOTO = Bound(10_000_000, "bytes in a photo", "a photo of a phone has 2 to 6 million")
CONTENT = Bound(25_000_000, "bytes in a kept file", "a signed document with its photos has less")
ADDRESS = Bound(8_000, "bytes in an address and its question", "the longest that the pages make has 2,000")
ANSWER = Bound(60, "seconds of work on one request", "the slowest paper of a large works takes ten")
WAITING = Bound(20, "requests waiting for one visit", "three phones at one visit send four each")
PROCESSES = Bound(4, "processes at work", "one for each of four people; two cores keep four busy")
MEMORY = Bound(1_500_000_000, "bytes of memory in one process", "the largest works takes a tenth")
CONNECTIONS = Bound(24, "connections from one address", "an office behind one address, with four browsers")
HEAD = Bound(10, "seconds for the head of a request", "a phone in a cellar sends it in two")
PAUSE = Bound(
    20, "seconds of silence within a request or an answer", "a phone that lost its signal comes back or tries again"
)
IDLE = Bound(130, "seconds without a request", "longer than anybody thinks, and than a usual proxy keeps a connection")
REQUEST = Bound(300, "seconds for a whole request", "a photo of 10 MB over a slow line")

# ---- journals that go together ----
SENT = Bound(4_000_000, "bytes of entries in one message", "a device sends a quarter of it at a time")
SENT_ENTRIES = Bound(500, "entries in one message", "a device sends 200 at a time")
DEVICES = Bound(500, "devices that may send", "a firm of a hundred inspectors has two each")
