"""`python -m tailsout`: the same door as the `tailsout` command."""

from tailsout.doors.cli import main

if __name__ == "__main__":
    main()
