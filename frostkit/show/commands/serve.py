"""`frostkit serve`: the notebooks as pages in the browser."""

from pathlib import Path

import click

from frostkit.show.commands.options import Latitude
from frostkit.show.printed import echo


@click.command(
    "serve",
    epilog="""\b
Examples:
  frostkit serve
  frostkit serve station.dly --latitude 50.1
  frostkit serve --notebook which-hybrid
  frostkit serve --port 8900 --no-browser
  frostkit serve --out my_notebooks""",
)
@click.argument("record", required=False, metavar="[RECORD]")
@click.option("--input-units", type=click.Choice(["C", "F"]), help="Units of a record that doesn't say.")
@click.option("--latitude", type=Latitude("The station"), help="The station's, degrees north, likewise.")
@click.option("--notebook", metavar="NAME", help="Open this one; left out, the list of them.")
@click.option(
    "--port", type=click.IntRange(0, 65535), default=8866, show_default=True, help="Port to listen at; 0: any free one."
)
@click.option("--no-browser", is_flag=True, help="Say the address, and open nothing.")
@click.option("--out", type=click.Path(path_type=Path), help="Put the notebooks there for JupyterLab; serve nothing.")
def command(record, input_units, latitude, notebook, port, no_browser, out):
    """The notebooks as live pages in the browser, without a notebook program.

    They run on this machine and are given to nobody else, in the language of frostkit setup. Without a record they
    show the invented place River Flat. Ctrl-C ends them.
    """
    import webbrowser

    from frostkit import public
    from frostkit.show import served
    from frostkit.show.settings import how

    language = how()["language"]
    if out is not None:
        made = served.put(out, language)
        echo(f"{len(made)} notebooks: {out}\nOpen them with: jupyter lab {out}")
        return
    served.voila()
    name = None if notebook is None else served.named(notebook)
    port = served.port_for(port)
    if record is not None:
        public.open(record, latitude=latitude, input_units=input_units)  # said here, not on every page
        record = str(Path(record).resolve()) if Path(record).exists() else record
    told = {"record": record, "input_units": input_units, "latitude": latitude}
    with served.copies({key: value for key, value in told.items() if value is not None}, language) as place:
        at = served.address(port, name, language)
        echo(f"Pages: {at}\nCtrl-C ends them.")
        if not no_browser:
            webbrowser.open(at)
        served.serve(place, port)
