"""Output files: each is written completely or not at all, and never over a user's file.

A results folder has a marker with the checksums of the files written there. A file that still has its
checksum belongs to loopdrift and may be replaced by later results; any other file belongs to the user.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import re
import secrets
import shutil
import stat
import tempfile
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path

from loopdrift import _core
from loopdrift.basics.errors import InvalidInput

MARKER = ".loopdrift.json"
"""Name of the file that lists which files of a folder loopdrift wrote."""

_UNFINISHED = ".loopdrift-unfinished-"
_CHOOSE = "choose another folder, or replace it by force"
_CERTIFICATE = "<!-- written by loopdrift; sha-256 of what is above: {} -->\n"
_CERTIFIED = re.compile(rb"(.*)" + _CERTIFICATE.encode().replace(b"{}", rb"([0-9a-f]{64})"), re.DOTALL)


def write_whole(contents: Mapping[Path, bytes]) -> None:
    """Write files so that, whatever happens, each has either its old or its complete new content.

    All are written next to their targets, under unique temporary names, before the first is moved into place.
    Once this returns, they survive a power failure.

    Parameters
    ----------
    contents : mapping of pathlib.Path to bytes
        Content of each file.

    Raises
    ------
    OSError
        If a file can't be written; none has changed then.
    """
    unfinished: dict[Path, Path] = {}
    try:
        for path, content in contents.items():
            target = path.resolve()
            mode = _mode(target)  # read once, as another process may create the file at any moment
            if mode is not None and not (stat.S_ISREG(mode) or stat.S_ISDIR(mode)):
                target.write_bytes(content)  # a device or a pipe, which must not be replaced
                continue
            if mode is not None:
                os.close(os.open(target, os.O_WRONLY))  # fails for a folder or a protected file
            beside = target.with_name(f"{_UNFINISHED}{secrets.token_hex(8)}")
            unfinished[target] = beside
            with beside.open("xb") as file:
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
            if mode is not None:
                beside.chmod(stat.S_IMODE(mode))
        for target, beside in unfinished.items():
            beside.replace(target)
    except BaseException:
        for beside in unfinished.values():
            with contextlib.suppress(OSError):
                beside.unlink()
        raise
    for folder in {target.parent for target in unfinished}:
        _sync(folder)


class ResultPage:
    """A single results file that ends with its own checksum.

    Parameters
    ----------
    path : str or path-like
        The file.
    inputs : iterable of pathlib.Path, optional
        Files that the results are computed from, which are never replaced.
    force : bool, default False
        Whether a file that loopdrift didn't write may be replaced.

    Raises
    ------
    InvalidInput
        If the file is an input, or exists and isn't as loopdrift wrote it.
    OSError
        If its folder can't be created or written to.
    """

    def __init__(
        self, path: str | os.PathLike[str], *, inputs: Iterable[Path] = (), force: bool = False
    ) -> None:
        self.path = Path(path)
        self._inputs = list(inputs)
        self._force = force
        self._check()
        self.path.parent.mkdir(parents=True, exist_ok=True)
        _require_writable(self.path.parent)

    def write(self, text: str) -> None:
        """Write the page and its checksum.

        Raises
        ------
        InvalidInput
            If the file was changed since by anyone else.
        OSError
            If it can't be written.
        """
        self._check()
        content = text.encode()
        content += _CERTIFICATE.format(hashlib.sha256(content).hexdigest()).encode()
        write_whole({self.path: content})

    def _check(self) -> None:
        if any(_same(self.path, each) for each in self._inputs):
            raise InvalidInput("Results", "file", self.path, "", "is an input: choose another name")
        if self.path.is_file() and not self._force and not self._is_own():
            allowed = "exists and isn't as loopdrift wrote it: choose another name, or replace it by force"
            raise InvalidInput("Results", "file", self.path, "", allowed)

    def _is_own(self) -> bool:
        found = _CERTIFIED.fullmatch(self.path.read_bytes())
        return found is not None and hashlib.sha256(found[1]).hexdigest().encode() == found[2]


class ResultFolder:
    """A results folder; new results replace only earlier results of the same kind.

    Results are replaced as a whole. The new files are complete on disk before the first old one is removed,
    and all old ones are removed before the first new one is moved into place, so files of two runs are never
    mixed. A process that ends before that changes nothing. If it ends in between, the marker records where
    the new files are, and the next `ResultFolder` of the same path and kind moves them into place. Files that
    loopdrift didn't write are never touched.

    Parameters
    ----------
    path : str or path-like
        The folder; created if it doesn't exist.
    kind : str
        Kind of results, such as ``"run"``.
    inputs : iterable of pathlib.Path, optional
        Files that the results are computed from, which are never replaced.
    force : bool, default False
        Whether the folder may hold anything else, and files that loopdrift didn't write may be replaced.

    Raises
    ------
    InvalidInput
        If the folder holds an input; or if it holds files that loopdrift didn't write, files changed since,
        or results of another kind.
    OSError
        If the folder can't be created or written to.
    """

    def __init__(
        self,
        path: str | os.PathLike[str],
        kind: str,
        *,
        inputs: Iterable[Path] = (),
        force: bool = False,
    ) -> None:
        self.path = Path(path)
        self._kind = kind
        self._inputs = [each.resolve() for each in inputs]
        self._force = force
        self.written: list[Path] = []
        """Files written last, sorted by name."""
        self.path.mkdir(parents=True, exist_ok=True)
        self._check()
        _require_writable(self.path)
        self._finish()

    def claim(self) -> None:
        """Mark the folder as loopdrift's before there are results, for work that writes partial results."""
        self._mark(_files(self._marker()) or {})

    @contextlib.contextmanager
    def writing(self) -> Iterator[Path]:
        """Yield an empty folder for new files, moved into place together when the block ends without error.

        If the results folder was empty, all appear at once. Files of earlier results that are not among the
        new ones are removed.

        Raises
        ------
        InvalidInput
            If a file that loopdrift didn't write is in the way.
        OSError
            If a file can't be written.
        """
        beside = self.path.parent if self._appears_at_once() else self.path
        unfinished = Path(tempfile.mkdtemp(prefix=_UNFINISHED, dir=beside))
        try:
            unfinished.chmod(self.path.stat().st_mode)
            yield unfinished
            self._put(unfinished)
        finally:
            if self._waiting() != unfinished:
                shutil.rmtree(unfinished, ignore_errors=True)

    def _check(self) -> None:
        """Refuse a folder that results must not be written to."""
        marker, folder = self._marker(), self.path.resolve()
        known = _files(marker)
        for each in self._inputs:
            if each.parent == folder or any(each == folder / name for name in known or ()):
                self._refuse(f"holds {each.name}, which is an input: choose another folder")
        if self._force:
            return
        if known is None:
            if self._holds_anything():
                self._refuse(f"holds files that loopdrift didn't write: {_CHOOSE}")
            return
        if marker.get("kind") != self._kind:
            self._refuse(f"holds results of {marker.get('kind')}: {_CHOOSE}")
        for name, digests in known.items():
            if (self.path / name).is_file() and _digest(self.path / name) not in digests:
                self._refuse(f"{name} was changed since loopdrift wrote it: {_CHOOSE}")

    def _refuse(self, allowed: str) -> None:
        raise InvalidInput("Results", "folder", self.path, "", allowed)

    def _put(self, unfinished: Path) -> None:
        """Replace the folder's results by the files of an unfinished folder."""
        found = sorted(path for path in unfinished.rglob("*") if path.is_file())
        new = {path.relative_to(unfinished).as_posix(): [_digest(path)] for path in found}
        (unfinished / MARKER).write_bytes(self._content(new))
        for path in (*unfinished.rglob("*"), unfinished):
            _sync(path)
        self._check()
        self.written = [self.path / name for name in new]
        if unfinished.parent != self.path:
            unfinished.replace(self.path)
            _sync(self.path.parent)
            return
        self._finish()
        known = _files(self._marker()) or {}
        for name in new:
            self._require_free(name, own=name in known)
        both = {name: known.get(name, []) + new.get(name, []) for name in (*known, *new)}
        self._mark(both, waiting=unfinished.name)  # from here on the new files count
        self._finish()

    def _require_free(self, name: str, *, own: bool) -> None:
        """Refuse a name taken by something that loopdrift may not replace."""
        place = self.path / name
        folders = [folder for folder in place.parents if folder.is_relative_to(self.path)]
        if place.is_dir() or any(folder.exists() and not folder.is_dir() for folder in folders):
            self._refuse(f"has something else where {name} goes: choose another folder")
        if place.exists() and not (own or self._force):
            self._refuse(f"{name} exists and wasn't written by loopdrift: {_CHOOSE}")

    def _finish(self) -> None:
        """Move waiting files into place, as their process may have ended; several may do so at once."""
        waiting = self._waiting()
        if waiting is None:
            return
        known, new = _files(self._marker()) or {}, _files(_read(waiting / MARKER)) or {}
        for name, digests in known.items():
            place = self.path / name
            with contextlib.suppress(FileNotFoundError):
                if place.is_file() and _digest(place) in set(digests) - set(new.get(name, ())):
                    place.unlink()
        for name in (*new, MARKER):
            (self.path / name).parent.mkdir(parents=True, exist_ok=True)
            with contextlib.suppress(FileNotFoundError):
                (waiting / name).replace(self.path / name)
            _sync((self.path / name).parent)
        shutil.rmtree(waiting, ignore_errors=True)

    def _waiting(self) -> Path | None:
        """Return the folder of files that wait to be moved into place; None if there is none."""
        name = str(self._marker().get("waiting", ""))
        waiting = self.path / Path(name).name
        return waiting if name.startswith(_UNFINISHED) and (waiting / MARKER).is_file() else None

    def _holds_anything(self) -> bool:
        """Whether there is anything but unfinished files of a killed process."""
        return any(not each.name.startswith(_UNFINISHED) for each in self.path.iterdir())

    def _appears_at_once(self) -> bool:
        """Whether the folder is empty and can be replaced by one that isn't."""
        parent = self.path.resolve().parent
        alone = not any(self.path.iterdir()) and not self.path.is_symlink() and not os.path.ismount(self.path)
        return alone and os.access(parent, os.W_OK) and self.path.resolve() != Path.cwd()

    def _marker(self) -> dict[str, object]:
        return _read(self.path / MARKER)

    def _mark(self, files: Mapping[str, list[str]], *, waiting: str = "") -> None:
        write_whole({self.path / MARKER: self._content(files, waiting=waiting)})

    def _content(self, files: Mapping[str, list[str]], *, waiting: str = "") -> bytes:
        marked = {"written by": f"loopdrift {_core.VERSION}", "kind": self._kind, "files": dict(files)}
        return json.dumps(marked | ({"waiting": waiting} if waiting else {}), indent=1).encode()


def _read(marker: Path) -> dict[str, object]:
    """Return the content of a marker; empty if it is missing or unreadable."""
    with contextlib.suppress(FileNotFoundError, ValueError, RecursionError):
        marked = json.loads(marker.read_bytes())
        if isinstance(marked, dict):
            return marked
    return {}


def _files(marker: Mapping[str, object]) -> dict[str, list[str]] | None:
    """Return the checksums of the files that loopdrift wrote, by name; None without a marker."""
    files = marker.get("files")
    if not isinstance(files, dict):
        return None
    inside = {name for name in files if not Path(name).is_absolute() and ".." not in Path(name).parts}
    return {name: list(files[name]) for name in inside if isinstance(files[name], list)}


def _digest(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _same(path: Path, other: Path) -> bool:
    try:
        return path.samefile(other)
    except OSError:
        return path.resolve() == other.resolve()


def _mode(path: Path) -> int | None:
    """Return the type and permissions of what is at a path, as `st_mode`; None if nothing is there."""
    with contextlib.suppress(FileNotFoundError):
        return path.stat().st_mode
    return None


def _require_writable(folder: Path) -> None:
    try:
        tempfile.TemporaryFile(dir=folder).close()
    except OSError as error:
        error.filename = str(folder)  # not the random name of the file tried
        raise


def _sync(path: Path) -> None:
    """Make the content of a file or a folder survive a power failure."""
    opened = os.open(path, os.O_RDONLY)
    try:
        os.fsync(opened)
    finally:
        os.close(opened)
