"""What commands share that write pages and pictures: the language, and degrees Fahrenheit."""

from collections.abc import Callable

import click

_OPTIONS = (
    click.option("--language", type=click.Choice(["en", "fr"]), default="en", show_default=True,
                 help="Language of pictures and sheets."),
    click.option("--fahrenheit", is_flag=True, help="Temperatures on sheets in °F."),
)  # fmt: skip


def PAPER(command: Callable) -> Callable:
    """`--language` and `--fahrenheit`, as the farm's settings file says them."""
    for option in reversed(_OPTIONS):
        command = option(command)
    return command
