"""The files for a machine that serves others, tried on this one."""

import http.client
import os
import re
import shlex
import shutil
import signal
import socket
import ssl
import subprocess
import time
from pathlib import Path
from urllib.parse import urlencode

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command

from stock.backups import records
from stock.deployment import readiness
from tests.elsewhere import manage

HOST = "kitchen.example"
LONGEST_SECONDS = 60


def needed(program):
    """Return where a program is; without it the test is skipped, but fails on CI."""
    path = shutil.which(program, path=f"{os.environ['PATH']}:/usr/sbin")
    if path is None:
        if os.environ.get("CI"):
            pytest.fail(f"{program} is missing on CI")
        pytest.skip(f"{program} is not installed")
    return path


@pytest.fixture
def certificate(tmp_path):
    """A certificate of our own for the host, and its key."""
    key, certificate = tmp_path / "key.pem", tmp_path / "certificate.pem"
    subprocess.run(
        [
            *(needed("openssl"), "req", "-x509", "-newkey", "rsa:2048", "-nodes"),
            *("-days", "2", "-subj", f"/CN={HOST}"),
            *("-addext", f"subjectAltName=DNS:{HOST}"),
            *("-keyout", str(key), "-out", str(certificate)),
        ],
        check=True,
        capture_output=True,
    )
    return certificate, key


@pytest.fixture
def folder(tmp_path, certificate, monkeypatch, capsys):
    """The files as the command writes them for this machine."""
    folder = tmp_path / "deploy"
    monkeypatch.setenv("DATABASE_URL", f"sqlite:///{tmp_path / 'kitchen.sqlite3'}")
    call_command(
        "deploy_files",
        out=str(folder),
        host=HOST,
        bind=f"127.0.0.1:{free_port()}",
        backups=str(tmp_path / "backups"),
        certificate=str(certificate[0]),
        key=str(certificate[1]),
    )
    return folder


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def environment_of(folder):
    lines = (folder / "tierlarder.env").read_text().splitlines()
    pairs = (line.split("=", 1) for line in lines if line and line[0] != "#")
    return {name: "".join(shlex.split(value)) for name, value in pairs}


def command_of(unit):
    [line] = re.findall(r"^ExecStart=(.*)$", unit.read_text(), re.MULTILINE)
    return shlex.split(line)


def wait_until(is_so, what):
    end_s = time.monotonic() + LONGEST_SECONDS
    while not is_so():
        assert time.monotonic() < end_s, what
        time.sleep(0.1)


def listens(port):
    with socket.socket() as probe:
        return probe.connect_ex(("127.0.0.1", port)) == 0


@pytest.fixture
def kitchen(folder):
    """The kitchen as the unit starts it, with ada in it; ends with the test."""
    given = {
        **{k: v for k, v in os.environ.items() if k != "DEBUG"},
        **environment_of(folder),
    }
    for words in (
        ["migrate", "--verbosity=0"],
        ["createsuperuser", "--noinput", "--username=ada", "--email=a@kitchen.example"],
    ):
        subprocess.run(
            [*command_of(folder / "tierlarder.service")[:2], *words],
            env=given | {"DJANGO_SUPERUSER_PASSWORD": "flour-and-water"},
            check=True,
            capture_output=True,
        )
    command = command_of(folder / "tierlarder.service")
    server = subprocess.Popen(
        command,
        cwd=settings.BASE_DIR,
        env=given,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        start_new_session=True,
    )
    port = int(command[-1].rpartition(":")[2])
    try:
        wait_until(lambda: listens(port) or server.poll() is not None, "no server")
        assert server.poll() is None
        yield given
    finally:
        os.killpg(server.pid, signal.SIGTERM)
        server.wait(LONGEST_SECONDS)


@pytest.fixture
def proxy(folder, kitchen, tmp_path):
    """The proxy in front of it, on ports that are free here; yields plain and TLS."""
    plain, tls = free_port(), free_port()
    site = (folder / "tierlarder.nginx.conf").read_text()
    site = re.sub(r"^    listen \[::\].*\n", "", site, flags=re.MULTILINE)
    site = site.replace("listen 443 ssl", f"listen 127.0.0.1:{tls} ssl")
    site = site.replace("listen 80", f"listen 127.0.0.1:{plain}")
    whole = tmp_path / "nginx.conf"
    temporary = "\n".join(
        f"  {name}_temp_path {tmp_path}/{name};"
        for name in ("client_body", "proxy", "fastcgi", "uwsgi", "scgi")
    )
    whole.write_text(
        f"daemon off; pid {tmp_path}/nginx.pid; error_log {tmp_path}/nginx.log;\n"
        f"events {{}}\nhttp {{ access_log off;\n{temporary}\n{site}\n}}\n"
    )
    server = subprocess.Popen(
        [needed("nginx"), "-c", str(whole), "-p", str(tmp_path)],
        stderr=subprocess.DEVNULL,
    )
    try:
        wait_until(lambda: listens(tls) or server.poll() is not None, "no proxy")
        assert server.poll() is None, (tmp_path / "nginx.log").read_text()
        yield plain, tls
    finally:
        server.terminate()
        server.wait(LONGEST_SECONDS)


class Browser:
    """Speaks TLS with the proxy under the host's name, and keeps cookies."""

    def __init__(self, port, certificate):
        self.context = ssl.create_default_context(cafile=str(certificate))
        self.port, self.cookies = port, {}

    def ask(self, method, path, form=None):
        plain = socket.create_connection(("127.0.0.1", self.port), LONGEST_SECONDS)
        with self.context.wrap_socket(plain, server_hostname=HOST) as secure:
            return self._asked(secure, method, path, form)

    def _asked(self, secure, method, path, form):
        connection = http.client.HTTPConnection(HOST)
        connection.sock = secure
        headers = {
            "Cookie": "; ".join(f"{name}={v}" for name, v in self.cookies.items()),
            "Origin": f"https://{HOST}",
        }
        body = urlencode(form) if form else None
        if form:
            headers["Content-Type"] = "application/x-www-form-urlencoded"
        connection.request(method, path, body, headers)
        with connection.getresponse() as answer:
            page = answer.read().decode()
        for cookie in answer.headers.get_all("Set-Cookie") or []:
            assert "Secure" in cookie
            name, _, value = cookie.split(";")[0].partition("=")
            self.cookies[name] = value
        return answer, page


def test_somebody_signs_in_behind_the_proxy(proxy, certificate):
    plain, tls = proxy
    browser = Browser(tls, certificate[0])

    answer, page = browser.ask("GET", "/sign-in/")
    assert (
        answer.status,
        "max-age" in answer.headers["Strict-Transport-Security"],
    ) == (
        200,
        True,
    )
    token = re.search(r'name="csrfmiddlewaretoken" value="([^"]+)"', page)[1]
    signed_in, _ = browser.ask(
        "POST",
        "/sign-in/",
        {
            "csrfmiddlewaretoken": token,
            "username": "ada",
            "password": "flour-and-water",
        },
    )
    assert signed_in.status == 302
    today, page = browser.ask("GET", "/kitchen/")
    assert (today.status, "Signed in as ada" in page) == (200, True)

    unencrypted = http.client.HTTPConnection("127.0.0.1", plain)
    unencrypted.request("GET", "/", headers={"Host": HOST})
    moved = unencrypted.getresponse()
    unencrypted.close()
    assert (moved.status, moved.headers["Location"]) == (301, f"https://{HOST}/")


def test_the_nightly_backup_is_one_that_restores(kitchen, folder, tmp_path):
    done = subprocess.run(
        command_of(folder / "tierlarder-backup.service"),
        cwd=settings.BASE_DIR,
        env=kitchen,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr

    [backup] = records.finished(tmp_path / "backups")
    restored = manage("restore", backup, url=f"sqlite:///{tmp_path / 'back.sqlite3'}")

    assert restored.stdout.startswith("Restored: the kitchen as of ")


def test_systemd_finds_nothing_wrong_with_the_units(folder):
    units = sorted(str(path) for path in folder.glob("tierlarder*.[st]*[er]"))
    assert [Path(unit).suffix for unit in units] == [".service", ".timer", ".service"]

    done = subprocess.run(
        [needed("systemd-analyze"), "verify", *units],
        capture_output=True,
        text=True,
        check=False,
    )

    ours = [line for line in done.stderr.splitlines() if "tierlarder" in line]
    assert ours == []


def test_the_settings_can_be_read_by_their_owner_alone(folder):
    path = folder / "tierlarder.env"

    assert path.stat().st_mode & 0o777 == 0o600
    assert len(environment_of(folder)["SECRET_KEY"]) >= 50


def test_nothing_is_overwritten(folder):
    before = {path: path.read_bytes() for path in folder.iterdir()}

    with pytest.raises(CommandError, match="is there already"):
        call_command("deploy_files", out=str(folder), host=HOST)

    assert {path: path.read_bytes() for path in folder.iterdir()} == before


@pytest.mark.parametrize(
    "host", ["https://kitchen.example", "kitchen", "kitchen.example:443", "a b.example"]
)
def test_what_is_no_name_of_a_site_is_refused(tmp_path, host):
    with pytest.raises(CommandError, match="isn't the name of a site"):
        call_command("deploy_files", out=str(tmp_path / "new"), host=host)

    assert not (tmp_path / "new").exists()


def test_a_path_with_a_meaning_of_its_own_is_refused(tmp_path):
    with pytest.raises(CommandError, match=r"backups: .* holds a sign"):
        call_command(
            "deploy_files", out=str(tmp_path / "new"), host=HOST, backups="/a;b"
        )


def test_a_folder_with_a_meaning_of_its_own_is_refused(tmp_path):
    with pytest.raises(CommandError, match=r"out: .* holds a sign"):
        call_command("deploy_files", out=str(tmp_path / "a %h b"), host=HOST)

    assert list(tmp_path.iterdir()) == []


@pytest.mark.django_db
def test_a_kitchen_for_this_machine_alone_is_not_served_to_others(settings):
    settings.IS_PUBLIC = False

    with pytest.raises(CommandError, match="Nobody else may reach this kitchen yet"):
        call_command("serve")


def test_a_database_that_is_not_up_to_date_is_said(tmp_path, folder):
    done = manage("serve", "--check", url=f"sqlite:///{tmp_path / 'empty.sqlite3'}")

    assert done.returncode == 2
    assert "The database is not up to date." in done.stderr


@pytest.mark.django_db
def test_a_program_without_its_files_is_said(monkeypatch):
    monkeypatch.setattr(readiness, "A_STATIC_FILE", "stock/gone.css")

    assert [
        fault for fault in readiness.faults() if "install the program anew" in fault
    ]
