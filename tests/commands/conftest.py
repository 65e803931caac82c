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
