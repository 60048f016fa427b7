"""Turns a recorded exercise class into a lesson that people can follow at home."""

__version__ = "0.1.0"
