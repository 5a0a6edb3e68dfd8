"""The commands by the job they belong to, as the help lists them."""

from __future__ import annotations

JOBS: dict[str, tuple[str, ...]] = {
    "On site": ("start", "next", "judge", "between", "serve", "demo"),
    "Papers": ("paper", "map", "observe", "deadlines", "sign", "verify"),
    "Many circuits, many visits": ("table", "fill", "many", "portfolio"),
    "Kept for years": ("keep",),
    "Single sums and data": ("bench", "schema", "rules"),
}
