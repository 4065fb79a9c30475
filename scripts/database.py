"""A PostgreSQL with PostGIS of its own for the tests: installed where we may, started, stopped.

    python3 scripts/database.py run COMMAND ...     # starts one, runs the command with PGHOST .. set, stops it

The server lives in a folder of its own, listens on a socket in it and on no port, and leaves with the command. On a
Debian, as root or through sudo, the packages are installed the first time.
"""

from __future__ import annotations

import os
import pwd
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

PACKAGES = ["postgresql", "postgresql-postgis"]
ACCOUNT = "postgres"
NOT_HERE = 77
"""Exit code when no server can be had on this machine."""


def programs() -> Path | None:
    """Folder of the server's programs, the newest version that has PostGIS; None when there is none."""
    found = [
        path.parent
        for path in Path("/usr/lib/postgresql").glob("*/bin/initdb")
        if (Path("/usr/share/postgresql") / path.parts[-3] / "extension" / "postgis.control").exists()
    ]
    return max(found, key=lambda path: float(path.parts[-2])) if found else None


def install() -> None:
    """Install the Debian packages, as root or through sudo, without starting a server of the system's own."""
    apt = shutil.which("apt-get")
    if apt is None:
        return
    root = [] if os.geteuid() == 0 else [shutil.which("sudo") or "false", "-n"]
    quiet = ["env", "DEBIAN_FRONTEND=noninteractive", "RUNLEVEL=1"]
    wanted = ["-y", "-qq", "-o", "Dpkg::Use-Pty=0", "--no-install-recommends", "install", *PACKAGES]
    for words in (["update", "-qq"], wanted):
        subprocess.run([*root, *quiet, apt, *words], check=False, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)


def own_account(folder: Path) -> list[str]:
    """What commands of the server begin with: it refuses to run as root, so root hands over to its account."""
    if os.geteuid() != 0:
        return []
    account = pwd.getpwnam(ACCOUNT)
    os.chown(folder, account.pw_uid, account.pw_gid)
    return ["setpriv", f"--reuid={account.pw_uid}", f"--regid={account.pw_gid}", "--clear-groups"]


@contextmanager
def server(bin_dir: Path) -> Iterator[dict[str, str]]:
    """Start a server in a new folder; yields the environment that leads to it."""
    with tempfile.TemporaryDirectory(prefix="pg", dir="/tmp") as name:
        folder = Path(name)
        folder.chmod(0o755)
        as_account = own_account(folder)
        data, log = folder / "data", folder / "log"
        asked = {"check": True, "stdout": subprocess.DEVNULL, "cwd": "/"}
        made = [bin_dir / "initdb", "-D", data, "-U", "tester", "--auth=trust", "--no-sync", "-E", "UTF8"]
        subprocess.run([*as_account, *map(str, made)], **asked)
        options = f"-c listen_addresses='' -c unix_socket_directories='{folder}' -c fsync=off"
        control = [*as_account, str(bin_dir / "pg_ctl"), "-D", str(data), "-l", str(log), "-w"]
        subprocess.run([*control, "-o", options, "start"], **asked)
        try:
            found = {"PGHOST": name, "PGUSER": "tester", "PGDATABASE": "postgres"}
            psql = [str(bin_dir / "psql"), "-q", "-c", "CREATE EXTENSION postgis"]
            subprocess.run(psql, env={**os.environ, **found}, **asked)
            yield found
        finally:
            subprocess.run([*control, "-m", "immediate", "stop"], **{**asked, "check": False})


def main() -> int:
    """Run a command with a server; its exit code, or ``NOT_HERE``."""
    if len(sys.argv) < 3 or sys.argv[1] != "run":
        print(__doc__, file=sys.stderr)
        return 2
    if programs() is None:
        install()
    bin_dir = programs()
    if bin_dir is None:
        names = " ".join(PACKAGES)
        print(f"No PostgreSQL with PostGIS here, and none can be installed: apt-get install {names}", file=sys.stderr)
        return NOT_HERE
    with server(bin_dir) as found:
        return subprocess.run(sys.argv[2:], env={**os.environ, **found}, check=False).returncode


if __name__ == "__main__":
    raise SystemExit(main())
