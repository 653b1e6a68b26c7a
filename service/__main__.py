"""The door of the commands; a process that is forked from another imports this file too and must load nothing by it."""

if __name__ == "__main__":
    from service.commands import run

    raise SystemExit(run())
