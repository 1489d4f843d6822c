"""One question to the print service: the state of a job, by IPP (RFC 8011, section 4.3.4).

`lpstat` lists an aborted job exactly as it lists a printed one; only the job's own state tells them apart.
"""

from __future__ import annotations

import http.client
import socket
import struct
from collections.abc import Iterator
from dataclasses import dataclass
from enum import IntEnum

_GET_JOB_ATTRIBUTES = 0x0009
_OPERATION_GROUP, _END, _LAST_GROUP_TAG = 0x01, 0x03, 0x0F
_INTEGERS = (0x21, 0x23)
_CHARSET, _LANGUAGE, _URI, _NAME, _KEYWORD = 0x47, 0x48, 0x45, 0x42, 0x44
_WANTED = ("job-state", "job-state-reasons", "job-printer-state-message")
TIMEOUT_S = 5.0
"""Seconds without a word from the service before it counts as silent; it is on this machine or next to it."""

_MOST_BYTES = 2**16
"""More than any answer about one job has."""


class JobState(IntEnum):
    """Source: RFC 8011, section 5.3.7."""

    PENDING = 3
    HELD = 4
    PROCESSING = 5
    STOPPED = 6
    CANCELED = 7
    ABORTED = 8
    COMPLETED = 9


@dataclass(frozen=True, slots=True)
class Job:
    """A job's state, the service's key words for it, and the printer's own message (may be empty)."""

    state: JobState
    reasons: tuple[str, ...]
    message: str


class NoAnswer(RuntimeError):  # noqa: N818 - a print service that keeps quiet, not a failure of ours
    """The print service gave no usable answer over IPP."""


def ask_job(server: str, number: int, user: str) -> Job:
    """The state of job ``number`` at ``server`` (``host:port`` or a socket's path). Raises NoAnswer."""
    try:
        return _read(_post(server, _request(number, user)))
    except (OSError, http.client.HTTPException, ValueError, struct.error, IndexError) as failed:
        raise NoAnswer(str(failed)) from None


class _SocketConnection(http.client.HTTPConnection):
    """HTTP over a Unix socket, which is where CUPS listens by default."""

    def __init__(self, path: str) -> None:
        super().__init__("localhost", timeout=TIMEOUT_S)
        self._path = path

    def connect(self) -> None:
        self.sock = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
        self.sock.settimeout(TIMEOUT_S)
        self.sock.connect(self._path)


def _post(server: str, body: bytes) -> bytes:
    if server.startswith("/"):
        connection: http.client.HTTPConnection = _SocketConnection(server)
    else:
        host, _, port = server.partition(":")
        connection = http.client.HTTPConnection(host, int(port.split("/")[0] or 631), timeout=TIMEOUT_S)
    try:
        connection.request("POST", "/", body, {"Content-Type": "application/ipp"})
        answer = connection.getresponse()
        if answer.status != 200:
            raise ValueError(f"the print service answered {answer.status} {answer.reason}")
        return answer.read(_MOST_BYTES)
    finally:
        connection.close()


def _request(number: int, user: str) -> bytes:
    head = struct.pack(">BBHIB", 1, 1, _GET_JOB_ATTRIBUTES, 1, _OPERATION_GROUP)
    fields = [
        _field(_CHARSET, "attributes-charset", "utf-8"),
        _field(_LANGUAGE, "attributes-natural-language", "en"),
        _field(_URI, "job-uri", f"ipp://localhost/jobs/{number}"),
        _field(_NAME, "requesting-user-name", user),
        *(_field(_KEYWORD, "requested-attributes" if not i else "", name) for i, name in enumerate(_WANTED)),
    ]
    return head + b"".join(fields) + bytes([_END])


def _field(tag: int, name: str, value: str) -> bytes:
    """One attribute; an empty name adds a further value to the one before (RFC 8010, section 3.1.5)."""
    n, v = name.encode(), value.encode()
    return struct.pack(">BH", tag, len(n)) + n + struct.pack(">H", len(v)) + v


def _read(body: bytes) -> Job:
    status = struct.unpack_from(">H", body, 2)[0]
    if status > 0x00FF:
        raise ValueError(f"the print service refused the question (IPP status {status:#06x})")
    found: dict[str, list[object]] = {}
    for name, value in _attributes(body):
        found.setdefault(name, []).append(value)
    message = str((found.get("job-printer-state-message") or [""])[0])
    reasons = tuple(str(reason) for reason in found.get("job-state-reasons", ()))
    state = next(iter(found.get("job-state", ())), None)
    if not isinstance(state, int):
        raise ValueError("the print service did not say the state of the job")
    return Job(JobState(state), reasons, message)


def _attributes(body: bytes) -> Iterator[tuple[str, object]]:
    at, name = 8, ""
    while body[at] != _END:
        tag = body[at]
        at += 1
        if tag <= _LAST_GROUP_TAG:
            continue
        length = struct.unpack_from(">H", body, at)[0]
        name = body[at + 2 : at + 2 + length].decode() if length else name
        at += 2 + length
        size = struct.unpack_from(">H", body, at)[0]
        raw = body[at + 2 : at + 2 + size]
        at += 2 + size
        yield name, struct.unpack(">i", raw)[0] if tag in _INTEGERS else raw.decode("utf-8", "replace")
