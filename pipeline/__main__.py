"""``python -m pipeline`` is the ``combtally`` command."""

import gc


def main() -> None:
    """Run it; a command is over before collecting pays, that of what is imported too."""
    gc.set_threshold(1_000_000)
    from pipeline import cli

    cli.main()


if __name__ == "__main__":
    main()
