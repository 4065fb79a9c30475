"""``python -m screening``."""

from screening.cli import main

if __name__ == "__main__":
    main()
