"""The command line: ``earthwright judge VISIT`` and its companions."""

from . import bench as _bench  # adds the single sums to the commands
from . import keep as _keep  # and the journal
from .main import main, run

__all__ = ["main", "run"]
_ = (_bench, _keep)
