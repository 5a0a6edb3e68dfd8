"""The command line: ``earthwright judge VISIT`` and its companions."""

from . import bench as _bench  # adds the single sums to the commands
from . import bench_earth as _bench_earth  # electrodes, TT, insulation, rings
from . import bench_live as _bench_live  # loops, devices, voltage drop
from . import between as _between  # any two places of the earth network
from . import documents as _documents  # papers, observations, deadlines
from . import keep as _keep  # the journal
from . import many as _many  # many visits at once
from . import portfolio as _portfolio  # many visits as open tables
from . import proof as _proof  # signatures and their checks
from . import rules as _rules  # the rule data as lists
from . import serve as _serve  # the pages
from . import table as _table  # circuits to and from a spreadsheet
from . import witness as _witness  # the journal held against what left the house
from .main import main, run

__all__ = ["main", "run"]
_ = (
    _bench,
    _bench_earth,
    _bench_live,
    _between,
    _documents,
    _keep,
    _many,
    _portfolio,
    _proof,
    _rules,
    _serve,
    _table,
    _witness,
)
