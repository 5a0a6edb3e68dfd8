"""Documents mutated by a seeded fuzzer that knows the structure of PDF: none may agree, hang, or end in a traceback.

./run bench forged_pdfs            3,000 of them; prints how many came to which answer, and the slowest
"""

from __future__ import annotations

import collections
import datetime as dt
import importlib.util
import io
import random
import re
import sys
import time
import warnings
from collections.abc import Callable
from pathlib import Path
from types import ModuleType

import pikepdf

from earthwright.desk.demo import visit_text
from earthwright.paper.attachments import CannotRead
from earthwright.paper.signatures import signature_checks
from earthwright.paper.verify import AGREES, answer, verify

COUNT, SLOWEST = 3000, 5.0
TODAY = dt.date(2026, 11, 25)
TESTS = Path(__file__).parents[1] / "tests" / "paper"


def helper(name: str, folder: Path = TESTS) -> ModuleType:
    """A module of the tests by its name."""
    sys.path.insert(0, str(folder))
    spec = importlib.util.spec_from_file_location(name, folder / f"{name}.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def bytes_changed(content: bytes, dice: random.Random) -> bytes:
    """One to four places flipped, taken out, put in or repeated."""
    for _ in range(dice.randint(1, 4)):
        at, size = dice.randrange(len(content)), dice.choice((1, 1, 4, 50, 2000))
        new = dice.choice(
            (bytes([content[at] ^ (1 << dice.randrange(8))]), b"", content[at : at + size] * 2, dice.randbytes(3))
        )
        content = content[:at] + new + content[at + (1 if len(new) == 1 else size) :]
    return content


def added(content: bytes, dice: random.Random) -> bytes:
    """An object of the file written anew at its end, with a table that names it, as a signature is."""
    objects = list(re.finditer(rb"\n(\d+) 0 obj\n(.*?)endobj", content, re.DOTALL))
    chosen = dice.choice(objects)
    body = chosen[2]
    digits = [m.span() for m in re.finditer(rb"\d+", body[:2000])]
    names = [m.span() for m in re.finditer(rb"/[A-Za-z]+", body[:2000])]
    kind = dice.randrange(4)
    if kind == 0 and digits:
        a, b = dice.choice(digits)
        body = body[:a] + str(dice.randrange(999)).encode() + body[b:]
    elif kind == 1 and names:
        a, b = dice.choice(names)
        body = body[:a] + dice.choice((b"/Rotate", b"/OpenAction", b"/XFA", b"/Hidden", b"/AP")) + body[b:]
    elif kind == 2:
        body = dice.choice(objects)[2]
    else:
        body = b"<</Type/Annot/Subtype/FreeText/Rect[0 0 500 500]/Contents(All bonds proved)>>\n"
    if body == chosen[2]:
        body = b"null\n"
    start = len(content)
    content += b"%b 0 obj\n%bendobj\n" % (chosen[1], body)
    trailer = re.findall(rb"trailer\s*<<(.*?)>>\s*startxref", content, re.DOTALL)[-1]
    before = re.findall(rb"startxref\s+(\d+)", content)[-1]
    table = len(content)
    kept = re.sub(rb"/Prev \d+", b"", trailer)
    named = b"%b 1\n%010d 00000 n \n" % (chosen[1], start)
    return content + b"xref\n%btrailer\n<<%b/Prev %b>>\nstartxref\n%d\n%%%%EOF\n" % (named, kept, before, table)


def values_changed(content: bytes, dice: random.Random) -> bytes:
    """A value somewhere in the objects replaced by another, and the file saved as a whole."""
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(content)) as pdf:
        dicts = [o for o in pdf.objects if isinstance(o, (pikepdf.Dictionary, pikepdf.Stream)) and len(o.keys())]
        for _ in range(dice.randint(1, 3)):
            node = dice.choice(dicts)
            key = dice.choice(sorted(node.keys()))
            if key in ("/Length", "/Filter"):
                continue
            value = dice.choice((5, pikepdf.String("x"), pikepdf.Name.X, pikepdf.Array([]), dice.choice(dicts)))
            node[key] = value
        pdf.save(out)
    return out.getvalue()


MUTATORS: tuple[Callable[[bytes, random.Random], bytes], ...] = (bytes_changed, added, values_changed)


def asked(content: bytes) -> str:
    """The answer to a document with its signatures."""
    try:
        found = verify(content, TODAY)
        return answer((*found.checks, *signature_checks(content, found.assessment, found.record)))
    except CannotRead:
        return "not a record of ours"


def mutated(seed: int, genuine: list[bytes]) -> tuple[str, bytes | None]:
    """A document changed by a seed; or why there is none."""
    dice = random.Random(seed)
    content = dice.choice(genuine)
    try:
        changed = dice.choice(MUTATORS)(content, dice)
    except (pikepdf.PdfError, ValueError, TypeError, KeyError):
        return "could not be made", None
    return ("not changed", None) if changed in genuine else ("changed", changed)


def campaign(count: int, genuine: list[bytes]) -> tuple[collections.Counter[str], float, list[int]]:
    """How many seeds came to which answer, the slowest in seconds, and the seeds that agreed."""
    answers: collections.Counter[str] = collections.Counter()
    slowest, silent = 0.0, []
    for seed in range(count):
        said, changed = mutated(seed, genuine)
        if changed is not None:
            start = time.perf_counter()
            said = asked(changed)
            slowest = max(slowest, time.perf_counter() - start)
        answers[said] += 1
        if said == AGREES:
            silent.append(seed)
    return answers, slowest, silent


def genuine_documents(folder: Path) -> list[bytes]:
    """A letter and an evidence sheet, unsigned and signed."""
    tests = helper("test_verify")
    from earthwright.paper.signing import sign_pdf

    now = dt.datetime.now(dt.UTC)
    packed, _ = tests.certificate("J. Example", now - dt.timedelta(days=1), now + dt.timedelta(days=9))
    key = folder / "j.p12"
    key.write_bytes(packed)
    made = [tests.document(visit_text(), name) for name in ("letter", "evidence sheet")]
    return made + [sign_pdf(m, "designer", key, tests.SECRET, verify(m, TODAY).record) for m in made]


def main() -> None:
    """Print the campaign."""
    import tempfile

    warnings.simplefilter("ignore")
    with tempfile.TemporaryDirectory() as folder:
        genuine = genuine_documents(Path(folder))
        count = int(sys.argv[1]) if len(sys.argv) > 1 else COUNT
        answers, slowest, silent = campaign(count, genuine)
    print(f"{count} mutated documents: {dict(answers)}; slowest {slowest:.2f} s; agreed: {silent or 'none'}")
    if silent or slowest > SLOWEST:
        sys.exit(1)


if __name__ == "__main__":
    main()
