"""``python -m earthwright``."""

if (
    __name__ == "__main__"
):  # processes that answer for this one load the file too, by its path and not as part of the package
    from earthwright.cli import run

    run()
