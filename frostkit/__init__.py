"""frostkit: when to seed, how late the legume can go in, when to chop: odds counted over a station's real seasons."""


def __getattr__(name: str) -> str:
    """`frostkit.__version__`, looked up only when asked for: it costs a tenth of a command's start."""
    if name != "__version__":
        raise AttributeError(f"module 'frostkit' has no attribute '{name}'")
    from importlib.metadata import version  # noqa: PLC0415

    return version("frostkit")
