"""Studies: many runs of varied designs, and what they say together."""

from loopdrift.study.samples import Samples
from loopdrift.study.statistics import band, broken_probability
from loopdrift.study.study import Study

__all__ = ["Samples", "Study", "band", "broken_probability"]
