"""`python -m sitegen`: the same as the command `sitegen`."""

from sitegen.cli import main

main()
