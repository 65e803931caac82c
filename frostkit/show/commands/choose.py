"""`frostkit choose`: which hybrid and which bean for this place and seeding day?"""

import click

from frostkit.show.commands.options import AFTER, DAY, JSON, ODDS, low_spot_options, open_both, record_options
from frostkit.show.printed import echo


@click.command(short_help="Which hybrid and which bean for this place and day?", epilog="""\b
Examples:
  frostkit choose
  frostkit choose station.dly --seeding 05-28 --colder-by 2
  frostkit choose station.dly --corn silage-2150 --corn my_hybrid.toml --bean forage-late --after 1
  frostkit choose eccc_folder --odds 0.9 --growth "90 days\"""")  # fmt: skip
@record_options
@low_spot_options
@click.option("--seeding", type=DAY, default="05-22", show_default=True, help="The corn's seeding day.")
@click.option("--after", type=AFTER, default=0, show_default=True, help="Days from the corn's seeding to the bean's.")
@click.option("--corn", "corns", multiple=True, help="Choose among these; again for more. Left out: the library.")
@click.option("--bean", "beans", multiple=True, help="Choose among these; again for more. Left out: the library.")
@click.option("--growth", help="What beans must make: '500 degree days', '90 days' (vegetative), or a stage.")
@click.option("--odds", type=ODDS, default=0.8, show_default=True, help="Odds wanted: 0.8 is 8 seasons in 10.")
@JSON
def command(record, input_units, seasons, field_at, seeding, after, corns, beans, growth, odds, as_json):
    """Hybrids and beans ranked by the seasons in which they make it when seeded on this day, and the highest rating
    that still gets there; how often the seed would lie in cold soil, or cold rain."""
    from frostkit.answers.choosing import choosing
    from frostkit.answers.cold_start import rain_of
    from frostkit.crops.entry import load

    read, at = open_both(record, input_units, seasons, field_at)
    chosen = [[load(name) for name in names] or None for names in (corns, beans)]
    rain = rain_of(read, at.cube)
    answer = choosing(at, seeding, *chosen, odds=odds, after=after, growth=growth, rain=rain)
    if as_json:
        from frostkit.show.machine.choosing import choosing as as_dict
        from frostkit.show.machine.parts import text

        echo(text(as_dict(answer)))
        return
    from frostkit.show.tables.choosing import choosing_text

    echo(choosing_text(answer))
