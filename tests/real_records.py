"""The real records of the folder `shared`: where each lies, how it is re-laid, and the same days read by plain pandas.

What each is and where it comes from: shared/data/PROVENANCE.md. Nothing here uses the package.
"""

import io
from functools import lru_cache
from pathlib import Path

import pandas as pd

# name -> (place under shared/data, options of `read`)
AS_THEY_ARE = {
    "ottawa": ("ghcn-daily/CA006105976.dly", {}),
    "ottawa_rcs": ("ghcn-daily/CA006105978.dly", {}),
    "new_york": ("ghcn-daily/USC00305816.dly", {}),
    "valleyview": ("ghcn-daily/CA003076680_2003-2024.csv.gz", {"input_units": "C"}),
    "minneapolis_long": ("ghcn-daily/USW00014922_2014-2015_long_layout.csv", {}),
    "milwaukee": ("ghcn-daily/USW00014839_1938-2026_wide_F.csv.gz", {"input_units": "F"}),
    "twin_cities": ("state-climate-office/twin_cities_1872-2023_F.csv.gz", {}),
    "toronto": ("eccc/toronto_pearson", {}),
    "ottawa_eccc": ("eccc/ottawa_cda", {}),
    "calgary": ("eccc/calgary", {}),
    "saskatoon_era5": ("grid/era5_daily_surface_cancities_1990-1993.nc", {"station": "Saskatoon"}),
}
RELAID = ("farnham", "iberville", "marieville", "bc_coast")  # written by `relaid` as plain CSV, date,tmin_C,tmax_C
NAMES = (*AS_THEY_ARE, *RELAID)


def place(name: str, shared: Path, folder: Path) -> tuple[Path, dict]:
    """The path to read, and the options: re-laid into `folder` where the layout is nobody's."""
    if name in AS_THEY_ARE:
        where, options = AS_THEY_ARE[name]
        return shared / "data" / where, options
    path = folder / f"{name}.csv"
    table = by_pandas(name, shared).rename(columns={"tmin": "tmin_C", "tmax": "tmax_C"})
    table.rename_axis("date").to_csv(path, na_rep="M", float_format="%.1f")
    return path, {}


@lru_cache
def by_pandas(name: str, shared: Path) -> pd.DataFrame:
    """tmin, tmax [degC] on every day from the first to the last reading, NaN where there is none or it is flagged."""
    data = shared / "data"
    if name in ("ottawa", "ottawa_rcs", "new_york"):
        table = _dly(data / AS_THEY_ARE[name][0])
    elif name == "valleyview":
        table = pd.read_csv(data / AS_THEY_ARE[name][0], index_col="date", parse_dates=True)[["tmin", "tmax"]]
    elif name == "minneapolis_long":
        long = pd.read_csv(data / AS_THEY_ARE[name][0], parse_dates=["date"])
        long = long[long.b.isna()].pivot_table(index="date", columns="attr", values="value")
        table = long.rename(columns=str.lower)[["tmin", "tmax"]] / 10
    elif name == "milwaukee":
        wide = pd.read_csv(data / AS_THEY_ARE[name][0], index_col="date", parse_dates=["date"])
        table = ((wide[["TMIN", "TMAX"]] - 32) / 1.8).rename(columns=str.lower)
    elif name == "twin_cities":
        table = (fahrenheit(shared)[["tmin", "tmax"]] - 32) / 1.8
    elif name in ("toronto", "ottawa_eccc", "calgary"):
        table = _eccc(data / AS_THEY_ARE[name][0])
    elif name == "saskatoon_era5":
        import xarray as xr

        with xr.open_dataset(data / AS_THEY_ARE[name][0]) as ds:
            cell = ds.sel(location="Saskatoon")[["tasmin", "tasmax"]].load().to_dataframe()[["tasmin", "tasmax"]]
        table = cell.rename(columns={"tasmin": "tmin", "tasmax": "tmax"}) - 273.15
    elif name == "bc_coast":
        table = pd.DataFrame({key: _year_day(data / f"eccc/relaid/BC_1018935_{element}_TEMP.csv", element)
                              for key, element in (("tmin", "MIN"), ("tmax", "MAX"))})  # fmt: skip
    else:
        [path] = (data / "eccc/relaid").glob(f"{name.upper()}*.csv")
        rows = pd.read_csv(path, skiprows=7, encoding="utf-8")
        rows.index = pd.to_datetime(rows[["Year", "Month", "Day"]].astype(int))
        table = rows.rename(columns={"Min Temp (deg C)": "tmin", "Max Temp (deg C)": "tmax"})[["tmin", "tmax"]]
    table = table.sort_index().dropna(how="all")
    return table.reindex(pd.date_range(table.index[0], table.index[-1]))


def fahrenheit(shared: Path) -> pd.DataFrame:
    """The Twin Cities' listing in its own whole °F: tmin, tmax."""
    listing = pd.read_csv(
        shared / "data" / AS_THEY_ARE["twin_cities"][0], index_col="date", parse_dates=True, na_values=["M"]
    )
    return listing.rename(columns={"tmin_F": "tmin", "tmax_F": "tmax"})


def _dly(path: Path) -> pd.DataFrame:
    widths = [11, 4, 2, 4] + [5, 1, 1, 1] * 31
    names = ["id", "year", "month", "element"] + [f"{kind}{day}" for day in range(1, 32) for kind in "vmqs"]
    wide = pd.read_fwf(path, widths=widths, header=None, names=names, dtype={f"q{day}": str for day in range(1, 32)})
    wide = wide[wide.element.isin(["TMIN", "TMAX"])]
    parts = []
    for day in range(1, 32):
        value = wide[f"v{day}"].where((wide[f"v{day}"] != -9999) & wide[f"q{day}"].isna())
        parts.append(pd.DataFrame({"year": wide.year, "month": wide.month, "day": day, "element": wide.element,
                                   "value": value / 10}).dropna())  # fmt: skip
    rows = pd.concat(parts)
    rows["date"] = pd.to_datetime(rows[["year", "month", "day"]])
    return rows.pivot(index="date", columns="element", values="value").rename(columns=str.lower)[["tmin", "tmax"]]


def _eccc(folder: Path) -> pd.DataFrame:
    parts = []
    for path in sorted(folder.iterdir()):
        raw = path.read_bytes()
        if path.suffix == ".gz":
            import gzip

            raw = gzip.decompress(raw)
        text = raw.decode("latin-1")  # only figures and flags are looked at
        rows = pd.read_csv(io.StringIO(text[text.index('"Date/Time"') :]), index_col=0, parse_dates=True)
        low, high = (next(name for name in rows if name.startswith(f"{kind} Temp (")) for kind in ("Min", "Max"))
        part = pd.DataFrame({"tmin": rows[low].where(rows["Min Temp Flag"] != "M"),
                             "tmax": rows[high].where(rows["Max Temp Flag"] != "M")})  # fmt: skip
        parts.append(part)
    return pd.concat(parts)


def _year_day(path: Path, element: str) -> pd.Series:
    rows = pd.read_csv(path)
    days = pd.to_datetime(rows.year.astype(str)) + pd.to_timedelta(rows.jday - 1, unit="D")
    return pd.Series(rows[f"{element}_TEMP"].to_numpy(), days)


@lru_cache
def complete_years(
    name: str, shared: Path, columns: tuple[str, ...] = ("tmin",), first: str = "01-01", last: str = "12-31"
) -> list[tuple[int, pd.DataFrame]]:
    """(year, its days from `first` to `last`) where none of `columns` misses a day."""
    table = by_pandas(name, shared)
    part = table[(table.index.strftime("%m-%d") >= first) & (table.index.strftime("%m-%d") <= last)]
    out = []
    for year, days in part.groupby(part.index.year):
        expected = (pd.Timestamp(f"{year}-{last}") - pd.Timestamp(f"{year}-{first}")).days + 1
        if len(days) == expected and days[list(columns)].notna().all(axis=None):
            out.append((int(year), days))
    return out
