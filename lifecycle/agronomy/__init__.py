"""Numbers in, numbers out: the computations a garden needs, without a clock, a file or a web."""
