"""The pages as ``earthwright serve`` serves them, for whoever looks at them with a browser."""

from __future__ import annotations

import socket
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def served(journal: str = "") -> Iterator[str]:
    """Their address, with a journal that is thrown away afterwards unless one is given."""
    with socket.socket() as s:
        s.bind(("127.0.0.1", 0))
        port = str(s.getsockname()[1])
    with tempfile.TemporaryDirectory(prefix="served-") as folder:
        journal = journal or f"{folder}/journal.sqlite"
        command = [sys.executable, "-m", "earthwright", "serve", "--journal", journal, "--port", port]
        with subprocess.Popen(command, stdout=subprocess.DEVNULL) as server:
            try:
                for _ in range(600):
                    try:
                        with urllib.request.urlopen(f"http://127.0.0.1:{port}/static/mark.svg", timeout=2):
                            break
                    except OSError:
                        time.sleep(0.2)
                yield f"http://127.0.0.1:{port}"
            finally:
                server.terminate()
