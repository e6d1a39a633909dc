"""`python -m saltline`: the same as the command `saltline`."""

from saltline.cli import main

if __name__ == "__main__":
    main(prog_name="saltline")
