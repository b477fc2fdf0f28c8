"""``python -m pipeline`` is the ``combtally`` command."""

from pipeline.cli import main

main()
