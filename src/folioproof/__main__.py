"""`python -m folioproof` is the same as `folioproof`."""

from .cli import main

main(prog_name="folioproof")
