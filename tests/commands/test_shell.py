"""frostkit in a shell: colour on a terminal alone and not with NO_COLOR, completion, the exit code of each outcome."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

PROGRAM = str(Path(sys.executable).with_name("frostkit"))
pty = pytest.importorskip("pty", reason="a system without pseudo-terminals")


def on_a_terminal(*arguments, **environment):
    """What a person sees of the error stream, with every sign of the terminal."""
    ours, theirs = pty.openpty()
    surroundings = {name: value for name, value in os.environ.items() if name != "NO_COLOR"}
    subprocess.run([PROGRAM, *arguments], stderr=theirs, stdout=subprocess.DEVNULL, timeout=60, check=False,
                   env={**surroundings, **environment})  # fmt: skip
    os.close(theirs)
    seen = b""
    try:
        while part := os.read(ours, 4096):
            seen += part
    except OSError:  # Linux says so when the other end is closed
        pass
    os.close(ours)
    return seen.decode()


def test_an_error_is_coloured_on_a_terminal_and_plain_with_no_color():
    assert "\x1b[" in on_a_terminal("windw")
    plain = on_a_terminal("windw", NO_COLOR="1")
    assert plain.startswith("There is no command 'windw'.")
    assert "\x1b" not in plain


def test_nothing_is_coloured_where_a_file_or_program_reads():
    done = subprocess.run([PROGRAM, "windw"], capture_output=True, timeout=60, check=False)
    assert done.returncode == 2
    assert b"\x1b" not in done.stderr


@pytest.mark.parametrize(
    ("typed", "offered"),
    [("frostkit wi", "window"), ("frostkit window --not", "--not-after"), ("frostkit --fa", "--farm")],
)
def test_the_shell_completes_commands_and_options(typed, offered):
    words = typed.split()
    shell = {
        **os.environ,
        "_FROSTKIT_COMPLETE": "bash_complete",
        "COMP_WORDS": typed,
        "COMP_CWORD": str(len(words) - 1),
    }
    done = subprocess.run([PROGRAM], env=shell, capture_output=True, text=True, timeout=60, check=True)
    assert f"plain,{offered}" in done.stdout.splitlines()


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_the_completion_of_each_shell_is_printed_as_documented(shell):
    done = subprocess.run([PROGRAM], env={**os.environ, "_FROSTKIT_COMPLETE": f"{shell}_source"}, capture_output=True,
                          text=True, timeout=60, check=True)  # fmt: skip
    assert "_FROSTKIT_COMPLETE" in done.stdout
