"""What can hurt people and water, and what a calculation is not; shown wherever results are."""

HAZARDS = (
    "Drilling, pressurised refrigerant, antifreeze near groundwater and electrical work "
    "can hurt people and water."
)
STANDING = (
    "Results are calculations, not a stamped design: "
    "local codes, drilling permits and licensed practice decide."
)
CAUTIONS = f"{HAZARDS} {STANDING}"
