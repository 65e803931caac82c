"""`frostkit frost`: last spring and first fall frost at any threshold, with odds, and season by season."""

from frostkit.show.commands.crop_options import EACH, THRESHOLD
from frostkit.show.commands.question import question

command = question(
    "frost",
    "Last spring frost, first fall frost and frost-free days of every season, and the odds of each by day.\n\n"
    "A night counts when its minimum is at or below the threshold. Spring ends with 31 July.",
    (THRESHOLD, EACH),
    (
        "frostkit frost",
        "frostkit frost station.dly --threshold -2.2",
        "frostkit frost eccc_folder --threshold 28F --seasons 1991-2020 --each",
        "frostkit frost station.dly --logger low_corner.csv --picture frost.png",
        "frostkit frost station.dly --csv > frosts.csv",
    ),
)
