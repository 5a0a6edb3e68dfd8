"""The commands by the job they belong to, as the help lists them, and the modules that hold them."""

from __future__ import annotations

JOBS: dict[str, tuple[str, ...]] = {
    "On site": ("start", "next", "judge", "between", "serve", "demo"),
    "Papers": ("paper", "picture", "map", "observe", "deadlines", "sign", "verify"),
    "Many circuits, many visits": ("table", "fill", "import", "many", "portfolio"),
    "Kept for years": ("keep",),
    "Together with an office": ("sync", "device"),
    "A firm": ("firm",),
    "Single sums and data": ("bench", "schema", "rules", "findings"),
}

# Only the module of the command that is asked for is loaded: a phone or a small box waits for nothing else.
MODULES: dict[str, tuple[str, ...]] = {
    **dict.fromkeys(("judge", "next", "map", "start", "demo", "schema"), ("visits",)),
    "between": ("between",),
    **dict.fromkeys(("paper", "observe", "deadlines"), ("documents",)),
    "picture": ("picture",),
    **dict.fromkeys(("sign", "verify"), ("proof",)),
    **dict.fromkeys(("table", "fill"), ("table",)),
    "import": ("take_in",),
    "many": ("many",),
    "portfolio": ("portfolio",),
    "keep": ("keep", "keep_in", "witness"),
    "firm": ("firm",),
    **dict.fromkeys(("sync", "device"), ("together",)),
    "serve": ("serve",),
    "bench": ("bench", "bench_earth", "bench_live"),
    "rules": ("rules",),
    "findings": ("findings",),
}
