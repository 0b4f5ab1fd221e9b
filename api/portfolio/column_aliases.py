"""Other titles of the columns: the right name is suggested, never assumed."""

from lcc import tables

# Column -> titles that mean it, as `headers.plain` returns them, without their unit.
_OTHERS = {each["column"]: each["titles"].split(", ") for each in tables.words("column_titles")}
_COLUMN = {title: column for column, titles in _OTHERS.items() for title in titles}
# Titles of a year or a day, whose columns hold no age.
_YEARS = (
    "year", "year_installed", "installed", "install_year", "install_date", "date_installed",
    "installation_date", "installation_year", "year_built", "year_of_roof", "roof_year",
    "last_reroofed", "year_of_installation", "date",
)  # fmt: skip
AGE_TOLD = "name it age and give the years since then, not the year or date"


def meant(name: str) -> tuple[str, str]:
    """Return the column that a title means, and what else its title says, such as its unit.

    Parameters
    ----------
    name : str
        As `api.portfolio.reading.headers.plain` returns it.

    Examples
    --------
    >>> meant("city"), meant("gas_per_therm"), meant("notes")
    (('climate', ''), ('gas_price', 'per_therm'), ('', ''))
    """
    if name in _COLUMN:
        return _COLUMN[name], ""
    stems = [
        stem
        for stem, column in _COLUMN.items()
        if name.startswith(f"{stem}_") and len(stem) > 2 and column != "name"
    ]
    if not stems:
        return "", ""
    longest = max(stems, key=len)
    return _COLUMN[longest], name[len(longest) + 1 :]


def tells_a_year(name: str) -> bool:
    """Tell whether a title is that of a year or a day."""
    return name in _YEARS
