"""The feed with TLS under a certificate made here, and with one unit of a house that sends everything."""

from __future__ import annotations

import shlex
import signal
import ssl
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from mobicard.cli import run
from mobicard.ledger import Ledger
from tests.feed.sender import Feed, Sender, adt


@contextmanager
def fed(folder: Path, *options: str) -> Iterator[Feed]:
    feed = Feed(folder, *options)
    try:
        yield feed
    finally:
        feed.end(signal.SIGKILL)


def beds(folder: Path) -> list[str]:
    with Ledger.open(folder / "unit.sqlite") as ledger:
        return [state.bed for state in ledger.beds()]


@pytest.fixture(scope="module")
def certificate(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """A certificate of localhost and its key, made by openssl."""
    folder = tmp_path_factory.mktemp("tls")
    cert, key = folder / "cert.pem", folder / "key.pem"
    made = ["openssl", "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1", "-nodes"]
    names = ["-subj", "/CN=localhost", "-addext", "subjectAltName=DNS:localhost", "-days", "2"]
    subprocess.run([*made, *names, "-keyout", key, "-out", cert], check=True, capture_output=True)
    return cert, key


def test_with_a_certificate_a_message_is_taken_over_tls_and_nothing_in_the_open(
    tmp_path: Path, certificate: tuple[Path, Path]
) -> None:
    """The sender checks certificate and name; one that speaks in the open gets no answer, admits nobody."""
    cert, key = certificate
    trusting = ssl.create_default_context(cafile=cert)
    with fed(tmp_path, "--cert", str(cert), "--key", str(key)) as feed:
        sender = Sender(feed.port, trusting)
        assert sender.send(adt("A01", "V1", "5N^1^A", control="C1"))[:2] == ("AA", "C1")
        assert isinstance(sender.socket, ssl.SSLSocket)
        assert sender.socket.version() in ("TLSv1.2", "TLSv1.3")
        sender.close()
        with pytest.raises(ssl.SSLCertVerificationError):
            Sender(feed.port, ssl.create_default_context())
        with pytest.raises(OSError):  # noqa: PT011 - closed or reset, as the system has it
            Sender(feed.port).send(adt("A01", "V2", "5N^2^A"))
        again = Sender(feed.port, trusting)
        assert again.send(adt("A01", "V3", "5N^3^A"))[0] == "AA"
        again.close()
    assert beds(tmp_path) == ["5N-1A", "5N-3A"]


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--cert", "{cert}", "--key", "{cert}"], "cannot be used as a certificate"),
        (["--cert", "{gone}"], "cannot be used as a certificate"),
        (["--key", "{key}"], "--key goes with --cert"),
    ],
)
def test_a_certificate_that_cannot_be_used_is_refused_before_anybody_is_listened_to(
    tmp_path: Path,
    certificate: tuple[Path, Path],
    capsys: pytest.CaptureFixture[str],
    words: list[str],
    says: str,
) -> None:
    ledger = str(tmp_path / "unit.sqlite")
    assert run(["--ledger", ledger, "--by", "ADT", "ledger", "new"]) == 0
    places = {"{cert}": certificate[0], "{key}": certificate[1], "{gone}": tmp_path / "none.pem"}
    given = [str(places.get(word, word)) for word in words]
    assert run(["--ledger", ledger, "--by", "ADT", "feed", "--port", "0", *given]) in (1, 2)
    assert says in capsys.readouterr().err


def test_of_a_whole_house_only_the_unit_named_is_taken_and_who_leaves_it_leaves(tmp_path: Path) -> None:
    with fed(tmp_path, "--unit", "5N") as feed:
        sender = Sender(feed.port)
        for text in (
            adt("A01", "V1", "5N^1^A"),
            adt("A01", "V2", "ICU^1^A"),
            adt("A01", "V3", "EMERGENCYDEPARTMENT^HALLWAY^12"),
            adt("A02", "V1", "ICU^2^A", at="202603020800"),
            adt("A02", "V2", "5N^2^A", at="202603020800"),
        ):
            assert sender.send(text)[0] == "AA"
        sender.close()
        assert not feed.held.exists()
    assert beds(tmp_path) == ["5N-2A"]


def test_the_unit_file_of_a_service_has_the_same_options(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Files by their whole path: a service starts in another folder."""
    monkeypatch.chdir(tmp_path)
    given = ["--unit", "5N", "--cert", "cert.pem", "--key", "key.pem"]
    assert run(["--ledger", "u.sqlite", "--by", "ADT", "shell", "service", *given]) == 0
    (start,) = [line for line in capsys.readouterr().out.splitlines() if line.startswith("ExecStart=")]
    wanted = ["--unit", "5N", "--cert", str(tmp_path / "cert.pem"), "--key", str(tmp_path / "key.pem")]
    assert shlex.split(start)[-6:] == wanted
