"""Ground, bore resistance and sensor offset from a plant's own log, and the forecast from them."""

from loopdrift.analysis.learning.forecast import Forecast
from loopdrift.analysis.learning.learned import Learned, learn
from loopdrift.analysis.learning.plant_log import PlantLog

__all__ = ["Forecast", "Learned", "PlantLog", "learn"]
