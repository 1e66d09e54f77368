"""Files that may be handed out: those that lie in a folder, whatever their name says."""

from pathlib import Path

from riffract.essay.leads_out import leads_out


def file_inside(folder: Path, name: str) -> Path | None:
    """Give a file that is there below a folder; `None` if its name, or a link, leads out of it.

    >>> file_inside(Path("/essays/tide/out"), "../essay.toml") is None
    True
    """
    try:
        is_there = not leads_out(folder, name) and (folder / name).is_file()
    except (OSError, ValueError):  # no file can be called that
        return None
    return folder / name if is_there else None
