"""The command open: the drawing office in a browser."""

import gc
from pathlib import Path

import click

from scantling import UserError
from scantling.cli.terminal import FIRM


@click.command("open", short_help="The drawing office: the whole set, alive in a browser.")
@click.argument("folder", metavar="[DIR]", type=click.Path(path_type=Path), default=".")
@FIRM
@click.option(
    "--port", type=click.IntRange(0, 65535), default=0, help="Port on this machine.  [default: any free one]"
)
@click.option(
    "--browser/--no-browser", "show", default=True, help="Show it in the browser, or print the address only."
)
def command(folder: Path, firm: Path | None, port: int, *, show: bool) -> None:
    """Open the drawing office of a folder: edit the brief, see the plan follow, open every working.

    The page is served to this machine alone, under an address with a fresh token; nothing is asked of any other machine. An
    empty folder begins with an interview or an invented office. Ctrl-C closes it.
    """
    if not folder.is_dir():
        raise UserError(f"{folder} is no folder; make it first, or name the folder that holds brief.yaml")

    def ready(address: str) -> None:
        click.echo(
            f"The drawing office of {folder.resolve().name or folder} is open at\n  {address}\nCtrl-C closes it."
        )
        if show:
            import webbrowser  # noqa: PLC0415 - loaded when needed

            webbrowser.open(address)

    gc.disable()  # nothing is rubbish while all is loaded and planned for the first time; the office enables it again
    from scantling.web.worker import Worker  # noqa: PLC0415 - loaded when needed, so that help is quick

    worker = Worker()
    try:
        worker.begin(folder.resolve(), firm)  # plans while the office itself is loaded
        from scantling.web.serving import serve  # noqa: PLC0415 - as above

        serve(folder.resolve(), port, firm, ready, worker)
    finally:
        worker.close()
        gc.enable()
    click.echo("The drawing office is closed.")
