"""Run the command line as a module."""

from tunnelwright.cli import main

main()
