"""A server that is really gone when it is stopped: a process of its own, on a port that stays.

A server in a thread answers on over the connections that a browser keeps open; a process takes
them along.
"""

from __future__ import annotations

import os
import socket
import subprocess
import sys
import time
from pathlib import Path
from typing import Self

from .drivers import TOP, free_port

PATIENCE_S = 20.0


class SiteProcess:
    """Serves a folder below a path, and can be stopped and started again at the same address.

    folder: what is served; prefix: the path, with a slash at both ends; module: the server's
    program, which takes the words of sitebuild.server.
    """

    def __init__(self, folder: Path, prefix: str = "/", module: str = "sitebuild.server"):
        self.folder, self.prefix, self.module = folder, prefix, module
        self.port = free_port()
        self.url = f"http://127.0.0.1:{self.port}{prefix}"
        self._process: subprocess.Popen | None = None

    def start(self) -> None:
        """Start it and wait until it answers; RuntimeError where it does not."""
        roots = os.pathsep.join([str(TOP / "py"), str(TOP / "tests")])
        # fmt: off
        words = [sys.executable, "-m", self.module, self.folder,
                 "--port", self.port, "--path", self.prefix]
        # fmt: on
        self._process = subprocess.Popen(
            [str(word) for word in words],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            env={**os.environ, "PYTHONPATH": roots},
        )
        deadline = time.monotonic() + PATIENCE_S
        while not self.answers():
            if time.monotonic() > deadline or self._process.poll() is not None:
                self.stop()
                raise RuntimeError(f"The server for {self.folder} did not start.")
            time.sleep(0.05)

    def answers(self) -> bool:
        """Whether anything listens at its address."""
        try:
            socket.create_connection(("127.0.0.1", self.port), 1).close()
        except OSError:
            return False
        return True

    def stop(self) -> None:
        """End it, with every connection that is open."""
        if self._process is not None:
            self._process.kill()
            self._process.wait()
            self._process = None

    def __enter__(self) -> Self:
        self.start()
        return self

    def __exit__(self, *_: object) -> None:
        self.stop()
