"""`frostkit workdays`: on how many days can the field be worked?"""

import click

from frostkit.show.commands.question import question

command = question(
    "workdays",
    "Days of each week of April, May, June and September on which the field can be worked, as 1, 5 and 9 in 10.\n\n"
    "A published rule on a daily water balance; the record must tell of rain.",
    (
        click.option(
            "--soil", type=click.Choice(["loam", "sand"]), default="loam", show_default=True, help="Of the field."
        ),
    ),
    ("frostkit workdays", "frostkit workdays station.dly --soil sand --picture workdays.png"),
)
