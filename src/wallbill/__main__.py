"""``python -m wallbill``: the command line."""

from wallbill.cli.main import main

if __name__ == "__main__":
    main()
