"""`python -m fencegrade`: the command, where the folder of scripts is not on the PATH."""

from fencegrade.cli.main import main

if __name__ == "__main__":
    main()
