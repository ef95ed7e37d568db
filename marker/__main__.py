"""`python -m marker`."""

from marker.cli import main

if __name__ == "__main__":
    main()
