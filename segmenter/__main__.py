"""Run with ``python -m segmenter``."""

from segmenter.cli import main

main()
