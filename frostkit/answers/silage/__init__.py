"""When it is fit to chop, in what order, and what a frost did."""
