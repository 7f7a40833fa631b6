"""Studies: many runs of varied designs, and their statistics."""

from loopdrift.analysis.study.samples import Samples
from loopdrift.analysis.study.statistics import band, broken_probability
from loopdrift.analysis.study.stored import open_study
from loopdrift.analysis.study.study import Study

__all__ = ["Samples", "Study", "band", "broken_probability", "open_study"]
