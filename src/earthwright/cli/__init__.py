"""The command line: ``earthwright judge VISIT`` and its companions."""

from . import bench as _bench  # adds the single sums to the commands
from . import documents as _documents  # papers, observations, deadlines
from . import keep as _keep  # the journal
from . import many as _many  # many visits at once
from . import proof as _proof  # signatures and their checks
from .main import main, run

__all__ = ["main", "run"]
_ = (_bench, _documents, _keep, _many, _proof)
