"""What tests of commands share: running one as a person would, and reading its JSON."""

import json

import pytest

from frostkit.show.cli import main


@pytest.fixture
def run(capsys):
    """Run a command: (exit code, what it printed, what it complained)."""

    def typed(*arguments):
        code = main([str(one) for one in arguments])
        out, err = capsys.readouterr()
        return code, out, err

    return typed


@pytest.fixture
def asked(run):
    """The JSON of a command."""

    def typed(*arguments):
        code, out, err = run(*arguments, "--json")
        assert (code, err) == (0, "")
        return json.loads(out)

    return typed


@pytest.fixture
def refused(run):
    """Hold that a command is refused in two lines: what is wrong, and what to do; nothing else said, exit code 2.

    `beside` begins a line that may stand beside them.
    """

    def typed(arguments, what, do, beside=None):
        code, out, err = run(*arguments)
        lines = [line for line in err.strip().splitlines() if beside is None or not line.startswith(beside)]
        assert (code, out, len(lines)) == (2, "", 2)
        assert what in lines[0]
        assert do in lines[1]

    return typed
