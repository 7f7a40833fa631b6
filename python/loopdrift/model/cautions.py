"""Safety and liability cautions, shown with all results."""

HAZARDS = (
    "Drilling, pressurised refrigerant, antifreeze near groundwater and electrical work "
    "can hurt people and water."
)
STANDING = (
    "Results are calculations, not a stamped design: "
    "local codes, drilling permits and licensed practice decide."
)
PERMITS = (
    "Drawing, returning and discharging groundwater, and pipes in open water, need permits of their own."
)
CAUTIONS = f"{HAZARDS} {STANDING} {PERMITS}"
