"""A sender of messages over MLLP as another program writes one: sockets and bytes, nothing of ours."""

from __future__ import annotations

import os
import re
import socket
import ssl
import subprocess
import sys
from pathlib import Path

NOW = "202603020700"


def adt(event: str, visit: str, bed: str, *, at: str = NOW, control: str = "", processing: str = "P") -> str:
    """One message by HL7 v2.5.1 chapter 3: bed in PV1-3, visit in PV1-19, control id in MSH-10."""
    return (
        f"MSH|^~\\&|S|H|M|5N|{at}||ADT^{event}^ADT_A01|{control or event + visit + at}|{processing}|2.5.1\r"
        f"EVN|{event}|{at}\rPID|1||M||DOE^JANE\rPV1|1|I|{bed}{'|' * 16}{visit}\r"
    )


class Feed:
    """``mobicard feed`` as a process of its own at a free port."""

    def __init__(self, folder: Path, *options: str) -> None:
        self.held = folder / "held"
        words = ["--ledger", str(folder / "unit.sqlite"), "--config", str(folder / "config"), "--by", "ADT"]
        if not (folder / "unit.sqlite").exists():
            made = [sys.executable, "-m", "mobicard", *words, "ledger", "new"]
            subprocess.run(made, check=True, capture_output=True)
        program = [sys.executable, "-m", "mobicard", *words]
        self.process = subprocess.Popen(
            [*program, "feed", "--port", "0", "--held", str(self.held), *options],
            stdout=subprocess.PIPE,
            env={**os.environ, "PYTHONUNBUFFERED": "1"},
        )
        assert self.process.stdout is not None
        said = self.process.stdout.readline().decode()
        found = re.search(r"port (\d+);", said)
        assert found, said
        self.port = int(found[1])

    def end(self, how: int) -> int:
        """Send a signal and wait; gives the exit code."""
        self.process.send_signal(how)
        code = self.process.wait(timeout=20)
        assert self.process.stdout is not None
        self.process.stdout.close()
        return code


class Sender:
    """One connection; ``send`` gives the answer's MSA-1, its control id and its whole text."""

    def __init__(self, port: int, tls: ssl.SSLContext | None = None) -> None:
        plain = socket.create_connection(("127.0.0.1", port), timeout=20)
        self.socket = tls.wrap_socket(plain, server_hostname="localhost") if tls else plain

    def send(self, text: str | bytes) -> tuple[str, str, str]:
        data = text.encode() if isinstance(text, str) else text
        self.socket.sendall(b"\x0b" + data + b"\x1c\r")
        got = b""
        while not got.endswith(b"\x1c\r"):
            piece = self.socket.recv(4096)
            if not piece:
                raise ConnectionError
            got += piece
        answer = got.strip(b"\x0b\x1c\r").decode()
        msa = next(line for line in answer.split("\r") if line.startswith("MSA")).split("|")
        return msa[1], msa[2], answer

    def close(self) -> None:
        self.socket.close()
