"""Exports that were made to do harm: names that lead out, bombs, cut archives, links."""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import tracemalloc
import zipfile
from collections.abc import Callable
from io import BytesIO
from pathlib import Path

import pytest

from earthwright.desk import Desk
from earthwright.records import Damaged, JournalError

VISITS = Path(__file__).parents[1] / "visits"
At = Callable[[str | Path], Desk]


def filled(desk: Desk) -> None:
    """A visit with a photo."""
    visit = desk.take_in((VISITS / "03-paint.toml").read_bytes(), by="A. Other")
    desk.attach(visit, b"\x89PNG picture", "clamp on paint", "A. Other", media="image/png")


class TestZip:
    """Archives that were made to do harm."""

    def made(self, tmp_path: Path, desk: Desk, more: dict[str, bytes]) -> Path:
        filled(desk)
        desk.export(tmp_path / "good.zip")
        bad = tmp_path / "bad.zip"
        with zipfile.ZipFile(tmp_path / "good.zip") as good, zipfile.ZipFile(bad, "w", zipfile.ZIP_DEFLATED) as out:
            for name in good.namelist():
                if name not in more:
                    out.writestr(name, good.read(name))
            for name, content in more.items():
                out.writestr(name, content)
        return bad

    @pytest.mark.parametrize(
        "name",
        [
            "../slip.txt",
            "/tmp/slip.txt",
            "files/../../slip.txt",
            "C:\\slip.txt",
            "files/" + "0" * 63,
            "files/" + "a" * 64 + "/../../slip",
        ],
    )
    def test_names_that_lead_out_write_nothing(self, tmp_path: Path, at_desk: At, name: str) -> None:
        folder = tmp_path / "deep" / "er"
        folder.mkdir(parents=True)
        bad = self.made(folder, at_desk(folder / "a.sqlite"), {name: b"slipped"})
        target = at_desk(folder / "b.sqlite")
        assert target.import_(bad) > 0
        assert target.verify().whole
        assert not list(tmp_path.rglob("*slip*"))
        assert not Path("/tmp/slip.txt").exists()

    def test_a_bomb_is_refused_before_it_is_unpacked(self, tmp_path: Path, at_desk: At) -> None:
        bad = self.made(tmp_path, at_desk(tmp_path / "a.sqlite"), {"files/" + "0" * 64: b"\0" * 60_000_000})
        assert bad.stat().st_size < 1_000_000
        target = at_desk(tmp_path / "b.sqlite")
        tracemalloc.start()
        with pytest.raises(JournalError, match="too large"):
            target.import_(bad)
        assert tracemalloc.get_traced_memory()[1] < 56_000_000  # never the whole 60 million bytes
        tracemalloc.stop()
        assert target.store.head()[0] == 0

    @pytest.mark.parametrize("size", [21_000_000])
    def test_a_file_that_unpacks_to_far_more_than_it_is_packed_in_is_refused(
        self, tmp_path: Path, at_desk: At, size: int
    ) -> None:
        """312 kB that unpack to 300 MB: each file was below its bound, all of them together were not."""
        more = {f"files/{hashlib.sha256(bytes(size + n)).hexdigest()}": bytes(size + n) for n in range(2)}
        bad = self.made(tmp_path, at_desk(tmp_path / "a.sqlite"), more)
        assert bad.stat().st_size < 100_000
        target = at_desk(tmp_path / "b.sqlite")
        with pytest.raises(Damaged, match="at most 200 times its packed size"):
            target.import_(bad)
        assert target.visits() == []

    def test_lines_without_end_below_the_bound_of_each_are_refused(self, tmp_path: Path, at_desk: At) -> None:
        bad = self.made(
            tmp_path, at_desk(tmp_path / "a.sqlite"), {"erased.jsonl": b" " * 400_000 + b"\n" + b"{}\n" * 4_000_000}
        )
        target = at_desk(tmp_path / "b.sqlite")
        with pytest.raises(Damaged):
            target.import_(bad)
        assert target.visits() == []

    def test_a_bomb_of_lines_is_refused(self, tmp_path: Path, at_desk: At) -> None:
        bad = self.made(tmp_path, at_desk(tmp_path / "a.sqlite"), {"events.jsonl": b"x" * 60_000_000})
        with pytest.raises(Damaged, match="line 1"):
            at_desk(tmp_path / "b.sqlite").import_(bad)

    @pytest.mark.parametrize("content", [b"", b"PK\x03\x04 cut", b"no archive at all"])
    def test_what_is_no_archive_says_so(self, tmp_path: Path, at_desk: At, content: bytes) -> None:
        (tmp_path / "x.zip").write_bytes(content)
        with pytest.raises(Damaged, match="is no export"):
            at_desk(tmp_path / "b.sqlite").import_(tmp_path / "x.zip")
        with pytest.raises(JournalError, match="cannot be read"):
            at_desk(tmp_path / "b.sqlite").import_(tmp_path / "none.zip")

    def test_a_cut_archive_is_refused(self, tmp_path: Path, at_desk: At) -> None:
        good = self.made(tmp_path, at_desk(tmp_path / "a.sqlite"), {})
        whole = good.read_bytes()
        target = at_desk(tmp_path / "b.sqlite")
        for part in (1, 2, 3):
            good.write_bytes(whole[: len(whole) * part // 4])
            with pytest.raises(JournalError):
                target.import_(good)
        middle = bytearray(whole)
        middle[whole.index(b"events.jsonl") + 40] ^= 0xFF
        good.write_bytes(middle)
        with pytest.raises(JournalError):
            target.import_(good)
        assert target.store.head()[0] == 0


def test_links_among_files_are_not_followed(tmp_path: Path, at_desk: At) -> None:
    desk = at_desk(tmp_path / "a.sqlite")
    filled(desk)
    desk.export(tmp_path / "out")
    secret = tmp_path / "secret"
    secret.write_text("secret")
    name = hashlib.sha256(b"secret").hexdigest()
    os.symlink(secret, tmp_path / "out" / "files" / name)
    target = at_desk(tmp_path / "b.sqlite")
    assert target.import_(tmp_path / "out") > 0
    with pytest.raises(JournalError, match="There is no file"):
        target.content(name)


@pytest.mark.parametrize("packed", [True, False])
@pytest.mark.parametrize("cut", ["events.jsonl", "personal.jsonl", "files", "manifest.json"])
def test_an_export_that_was_cut_short_is_refused(tmp_path: Path, at_desk: At, cut: str, packed: bool) -> None:
    """A chain without its last events is as whole as before, and was taken in without a word: the manifest tells."""
    desk = at_desk(tmp_path / "a.sqlite")
    filled(desk)
    out, target = tmp_path / "out", at_desk(tmp_path / "b.sqlite")
    desk.export(out)
    path = out / cut if cut != "files" else next((out / "files").iterdir())
    lines = path.read_bytes().splitlines(keepends=True)
    path.write_bytes(b"".join(lines[:-2])) if cut.endswith("jsonl") else path.unlink()
    if packed:
        with zipfile.ZipFile(tmp_path / "out.zip", "w") as archive:
            for p in out.rglob("*"):
                archive.write(p, p.relative_to(out))
    with pytest.raises(Damaged, match=r"manifest\.json"):
        target.import_(tmp_path / "out.zip" if packed else out)
    assert target.visits() == []


class TestDamaged:
    """Bytes of a file that was handed over are changed: it is refused in words, never an error of another kind."""

    def handed(self, at_desk: At, tmp_path: Path) -> bytes:
        desk = at_desk(tmp_path / "a.sqlite")
        filled(desk)
        return desk.hand_over(desk.visits()[0].id)

    def repacked(self, content: bytes, how: int, more: dict[str, bytes] | None = None) -> bytes:
        out = BytesIO()
        with zipfile.ZipFile(BytesIO(content)) as good, zipfile.ZipFile(out, "w", how) as bad:
            for name in good.namelist():
                bad.writestr(name, (more or {}).get(name, good.read(name)))
        return out.getvalue()

    def test_any_byte_may_be_another(self, tmp_path: Path, at_desk: At) -> None:
        good = self.handed(at_desk, tmp_path)
        target = at_desk(tmp_path / "b.sqlite")
        for place in [*range(60), *range(len(good) - 300, len(good))]:
            for changed in (good[place] ^ 0xFF, good[place] ^ 1):
                bad = good[:place] + bytes([changed]) + good[place + 1 :]
                with contextlib.suppress(JournalError):
                    target.take_over(bad)

    @pytest.mark.parametrize("how", [zipfile.ZIP_LZMA, zipfile.ZIP_BZIP2])
    def test_another_way_of_packing_is_refused(self, tmp_path: Path, at_desk: At, how: int) -> None:
        good = self.handed(at_desk, tmp_path)
        for bad in (self.repacked(good, how), bytearray(self.repacked(good, how))):
            if isinstance(bad, bytearray):
                bad[60] ^= 0xFF
            with pytest.raises(Damaged, match="packed in another way"):
                at_desk(tmp_path / "b.sqlite").take_over(bytes(bad))

    @pytest.mark.parametrize("by", ["missing", None, 5, ["x"]])
    def test_an_entry_that_nobody_made_is_refused(self, tmp_path: Path, at_desk: At, by: object) -> None:
        good = self.handed(at_desk, tmp_path)
        with zipfile.ZipFile(BytesIO(good)) as archive:
            first, *rest = archive.read("events.jsonl").splitlines(keepends=True)
        one = json.loads(first)
        one |= {"by": by}
        if by == "missing":
            del one["by"]
        lines = json.dumps(one).encode() + b"\n" + b"".join(rest)
        with pytest.raises(Damaged, match="by is missing or of the wrong kind"):
            at_desk(tmp_path / "b.sqlite").take_over(self.repacked(good, zipfile.ZIP_DEFLATED, {"events.jsonl": lines}))
