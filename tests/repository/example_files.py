"""Files that the pages mention and a user would have, all invented: a meter, weather, units and a street."""

from __future__ import annotations

import shutil
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pandas as pd
from openpyxl import Workbook

import loopdrift as ld

SAMPLE = ld.Weather.sample("cold continental")
HEATING = np.clip(18.0 - SAMPLE.dry_bulb, 0.0, None) * 0.25  # kWh in each hour


def write(folder: Path) -> None:
    """Write all files into a folder."""
    stamps = pd.date_range("2023-01-01", periods=8760, freq="h", tz="Etc/GMT-1").tz_convert("Europe/Berlin")
    texts = stamps.strftime("%d/%m/%Y %H:%M")
    workbook(folder / "meter.xlsx", {"2023": [("Read at", "Meter 3"), *zip(texts, HEATING, strict=True)]})
    (folder / "meter.csv").write_text(
        "\n".join(["Heating", *(f"{value:.3f}" for value in np.repeat(HEATING / 4.0, 4))])
    )
    epw(folder / "typical-year.epw")
    workbook(folder / "unit.xlsx", {"Heating": heating_by_air(), "Cooling": cooling_by_air()})
    for measured in ("response-test.csv", "plant-log.csv"):
        shutil.copy(Path(ld.__file__).parent / "demo" / measured, folder)
    rows = ["mode,stage,entering_fluid_degC,entering_load_degC,capacity_kW,power_kW", *rows_by_stage()]
    (folder / "two-stage-unit.csv").write_text("\n".join(rows))
    street = [f'[[plant]]\nname = "{east}"\ndesign = "design.toml"\nat = [{east}, 0]\n' for east in (0, 25)]
    (folder / "town.toml").write_text("\n".join(street))


def workbook(path: Path, sheets: dict[str, Sequence[tuple[object, ...]]]) -> None:
    book = Workbook(write_only=True)
    for name, rows in sheets.items():
        page = book.create_sheet(name)
        for row in rows:
            page.append([value.item() if isinstance(value, np.generic) else value for value in row])
    book.save(path)


def epw(path: Path) -> None:
    """Eight lines before the hours, 35 columns, hours 1 to 24 (from memory)."""
    lines = [
        f"LOCATION,Nowhere,-,XXX,invented,0,{SAMPLE.latitude},{SAMPLE.longitude},{SAMPLE.utc_offset},{SAMPLE.altitude}",
        *("DESIGN CONDITIONS,0", "TYPICAL/EXTREME PERIODS,0", "GROUND TEMPERATURES,0"),
        *("HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0", "COMMENTS 1,invented", "COMMENTS 2"),
        "DATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31",
    ]
    stamps = pd.date_range("2023-01-01", periods=8760, freq="h")
    hours = zip(stamps, SAMPLE.dry_bulb, SAMPLE.ghi, SAMPLE.dni, SAMPLE.dhi, SAMPLE.wind_speed, strict=True)
    for stamp, air, ghi, dni, dhi, wind in hours:
        cells = [
            stamp.year,
            stamp.month,
            stamp.day,
            stamp.hour + 1,
            60,
            "?9",
            air,
            0.0,
            70,
            101300,
            0,
            0,
            300,
        ]
        cells += [ghi, dni, dhi, 0, 0, 0, 0, 180, wind]
        lines.append(",".join(str(cell) for cell in [*cells, *[0] * (35 - len(cells))]))
    path.write_text("\n".join(lines))


def rows_by_stage() -> list[str]:
    """A unit of two stages whose performance depends on the entering load temperature."""
    return [
        f"{mode},{stage},{fluid},{side},{share * (11.0 + 0.25 * fluid)},{share * power * (1.0 + 0.01 * side)}"
        for mode, power, sides in (("heating", 2.2, (25.0, 35.0)), ("cooling", 1.8, (12.0, 22.0)))
        for stage, share in (("full", 1.0), ("low", 0.5))
        for fluid in (-5.0, 0.0, 5.0, 10.0, 20.0, 30.0)
        for side in sides
    ]


def heating_by_air() -> list[tuple[object, ...]]:
    """A unit measured with two air flows."""
    head = ("EWT (°F)", "CFM", "Total capacity kBtu/h", "Power input, kW")
    return [
        head,
        *(
            (fluid, air, 30.0 + 0.3 * fluid + air / 200.0, 2.3 + 0.004 * fluid)
            for air in (1000, 1200)
            for fluid in (25, 40, 55, 70, 85)
        ),
    ]


def cooling_by_air() -> list[tuple[object, ...]]:
    """The same unit in cooling, with two wet bulbs as well."""
    head = ("EWT (°F)", "CFM", "EAT WB (°F)", "Total capacity kBtu/h", "Power input, kW")
    return [
        head,
        *(
            (fluid, air, bulb, 46.0 - 0.1 * fluid + air / 200.0 + 0.6 * (bulb - 67), 1.2 + 0.016 * fluid)
            for air in (1000, 1200)
            for bulb in (63, 67)
            for fluid in (40, 55, 70, 85, 100)
        ),
    ]
