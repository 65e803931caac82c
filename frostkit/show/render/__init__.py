"""Renderers of an answer: each medium written once, each language a file. They decide nothing."""
