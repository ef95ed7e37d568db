"""`python -m marker`, and the command `marker`."""


def run() -> None:
    """The command line; Ctrl-C while it is still loading ends it without a word."""
    try:
        from marker.cli import main
    except KeyboardInterrupt:
        raise SystemExit(130) from None
    main()


if __name__ == "__main__":
    run()
