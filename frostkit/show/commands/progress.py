"""A bar on the error stream while something long is loaded; nothing where nobody is watching."""

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

Step = Callable[[int, int, str], None]
"""Called with (done, of all, what is being done)."""


@contextmanager
def progress() -> Iterator[Step | None]:
    """A bar to tell steps to; None where the error stream is no terminal."""
    if not sys.stderr.isatty():
        yield None
        return
    import rich.console
    import rich.markup
    import rich.progress

    from frostkit.show.printed import NAME, plain

    console = rich.console.Console(stderr=True)
    with rich.progress.Progress(console=console, transient=True) as bar:
        task = bar.add_task("", total=None)

        def step(done: int, total: int, what: str) -> None:
            bar.update(task, completed=done, total=total, description=rich.markup.escape(plain(what, NAME)))

        yield step
