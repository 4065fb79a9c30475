"""Find the files an area file names, and hash them for the run record."""

from __future__ import annotations

import hashlib
import os
import zipfile
from collections.abc import Iterable, Sequence
from pathlib import Path

from screening.inputs.database import DATABASE, table_hash
from screening.inputs.findings import Findings

__all__ = ["find_files", "hash_files", "is_remote", "members_of_zip", "shown_path"]

_GLOB = frozenset("*?[")
_ZIP = "/vsizip/"
_SHAPEFILE_PARTS = (".shp", ".shx", ".dbf", ".prj", ".cpg")


def is_remote(name: str) -> bool:
    """Whether a name is a URL or a database connection rather than a path."""
    return "://" in name or name[:3].upper() == "PG:" or (name.startswith("/vsi") and not name.startswith(_ZIP))


def find_files(
    names: Sequence[str], folder: Path, findings: Findings, *, layer: str, allow_urls: bool = False
) -> list[str]:
    """Turn paths, globs and URLs into names that can be opened.

    Parameters
    ----------
    names
        As the area file writes them.
    folder
        Folder of the area file.
    findings
        Where faults go: nothing there, no match, a URL that was not allowed.
    layer
        The table, for the faults.
    allow_urls
        Whether ``allow_urls = true`` stands in the area file.

    Returns
    -------
    list of str
        Paths in the order written, the matches of a glob by code point; doubles once.
    """
    found: dict[str, None] = {}
    for name in names:
        if name.startswith(DATABASE):
            found[name] = None
            continue
        if is_remote(name):
            if allow_urls:
                found[name] = None
            else:
                findings.fault(
                    f"{name.split('?')[0]!r} would be read over the network",
                    "Download it, or put allow_urls = true at the top of the area file",
                    layer=layer,
                )
            continue
        matches = _matches(name, folder)
        if not matches:
            what = "No file matches" if _GLOB & set(name) else "There is no file"
            findings.fault(f"{what} {name!r}", _look_there(name, folder), file=name, layer=layer)
        found.update(dict.fromkeys(str(path) for path in matches))
    return list(found)


def _matches(name: str, folder: Path) -> list[Path]:
    """Files that a path or a glob means."""
    path = folder / name
    if path.exists():
        return [path]
    if not _GLOB & set(name):
        return []
    anchor = Path(path.anchor)
    root, pattern = (anchor, str(path.relative_to(anchor))) if Path(name).is_absolute() else (folder, name)
    return sorted(root.glob(pattern), key=str)


def _look_there(name: str, folder: Path) -> str:
    """A mend for a path that leads nowhere: what lies beside it."""
    parent = (folder / name).parent
    if not parent.is_dir():
        return (
            f"There is no folder {str(Path(name).parent)!r} beside the area file; paths are relative to the area file"
        )
    beside = sorted(path.name for path in parent.iterdir() if not path.name.startswith("."))
    shown = ", ".join(beside[:12]) + (", ..." if len(beside) > 12 else "")
    return f"Paths are relative to the area file; that folder holds: {shown or 'nothing'}"


def shown_path(name: str, folder: Path) -> str:
    """A path as the area file's owner knows it: relative to the area file, with slashes; no secrets of a URL."""
    if name.startswith(DATABASE):
        return name
    if is_remote(name):
        return "PG:..." if name[:3].upper() == "PG:" else name.split("?")[0]
    inside = name.removeprefix(_ZIP)
    try:
        return Path(os.path.relpath(Path(inside).resolve(), folder.resolve())).as_posix()
    except ValueError:  # another drive
        return Path(inside).name


def members_of_zip(path: str, endings: tuple[str, ...]) -> list[str]:
    """Paths, as GDAL opens them, of the files in a zip that have one of some endings, in order.

    Raises
    ------
    OSError, zipfile.BadZipFile
        When it cannot be opened.
    """
    with zipfile.ZipFile(path) as archive:
        return [f"{_ZIP}{path}/{one}" for one in sorted(archive.namelist()) if one.lower().endswith(endings)]


def hash_files(names: Iterable[str], folder: Path) -> dict[str, str]:
    """SHA-256 of every file behind the names, by path relative to the area file.

    A shapefile counts with its parts, a folder with every file in it; what comes over the network is not hashed.
    """
    hashes: dict[str, str] = {}
    for name in names:
        if name.startswith(DATABASE):
            try:
                hashes[name] = table_hash(name.removeprefix(DATABASE))
            except OSError:
                hashes[name] = "not hashed: could not be read"
            continue
        if is_remote(name):
            hashes[shown_path(name, folder)] = "not hashed: read over the network"
            continue
        for path in _parts(name):
            hashes[shown_path(str(path), folder)] = _sha256(path)
    return dict(sorted(hashes.items()))


def _parts(name: str) -> list[Path]:
    """The files that make up one input."""
    path = Path(name.removeprefix(_ZIP))
    if name.startswith(_ZIP):
        return [parent for parent in (path, *path.parents) if parent.is_file()][:1]
    if path.is_dir():
        return sorted((part for part in path.rglob("*") if part.is_file()), key=str)
    if path.suffix.lower() == ".shp":
        beside = {part.suffix.lower(): part for part in path.parent.glob(f"{_escaped(path.stem)}.*")}
        return [beside[suffix] for suffix in _SHAPEFILE_PARTS if suffix in beside]
    return [path] if path.is_file() else []


def _escaped(text: str) -> str:
    """Text without its glob signs' meaning."""
    return "".join(f"[{sign}]" if sign in _GLOB else sign for sign in text)


def _sha256(path: Path) -> str:
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()
