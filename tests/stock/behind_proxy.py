"""The kitchen as a unit serves it, behind a proxy that speaks TLS, on free ports."""

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
from contextlib import contextmanager
from urllib.parse import urlencode

import pytest

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


def make_certificate(certificate, key, host=HOST):
    """Make a certificate of our own for a host, and its key."""
    subprocess.run(
        [
            *(needed("openssl"), "req", "-x509", "-newkey", "rsa:2048", "-nodes"),
            *("-days", "2", "-subj", f"/CN={host}"),
            *("-addext", f"subjectAltName=DNS:{host}"),
            *("-keyout", str(key), "-out", str(certificate)),
        ],
        check=True,
        capture_output=True,
    )


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


@contextmanager
def served(unit, environment, base):
    """Start what a unit starts, until it listens; end it afterwards."""
    command = command_of(unit)
    server = subprocess.Popen(
        command,
        cwd=base,
        env=environment,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        start_new_session=True,
    )
    port = int(command[-1].rpartition(":")[2])
    try:
        wait_until(lambda: listens(port) or server.poll() is not None, "no server")
        assert server.poll() is None
        yield port
    finally:
        os.killpg(server.pid, signal.SIGTERM)
        server.wait(LONGEST_SECONDS)


@contextmanager
def proxy_of(site, folder):
    """Start the proxy with the file of a site; yields its plain and its TLS port."""
    plain, tls = free_port(), free_port()
    site = re.sub(r"^    listen \[::\].*\n", "", site, flags=re.MULTILINE)
    site = site.replace("listen 443 ssl", f"listen 127.0.0.1:{tls} ssl")
    site = site.replace("listen 80", f"listen 127.0.0.1:{plain}")
    whole = folder / "nginx.conf"
    temporary = "\n".join(
        f"  {name}_temp_path {folder}/{name};"
        for name in ("client_body", "proxy", "fastcgi", "uwsgi", "scgi")
    )
    whole.write_text(
        f"daemon off; pid {folder}/nginx.pid; error_log {folder}/nginx.log;\n"
        "events {}\n"
        f"http {{ access_log {folder}/access.log;\n{temporary}\n{site}\n}}\n"
    )
    server = subprocess.Popen(
        [needed("nginx"), "-c", str(whole), "-p", str(folder)],
        stderr=subprocess.DEVNULL,
    )
    try:
        wait_until(lambda: listens(tls) or server.poll() is not None, "no proxy")
        assert server.poll() is None, (folder / "nginx.log").read_text()
        yield plain, tls
    finally:
        server.terminate()
        server.wait(LONGEST_SECONDS)


class Browser:
    """Speaks TLS with the proxy under a host's name, and keeps cookies."""

    def __init__(self, port, certificate, host=HOST):
        self.host = host
        self.context = ssl.create_default_context(cafile=str(certificate))
        self.port, self.cookies = port, {}

    def ask(self, method, path, form=None):
        plain = socket.create_connection(("127.0.0.1", self.port), LONGEST_SECONDS)
        with self.context.wrap_socket(plain, server_hostname=self.host) as secure:
            return self._asked(secure, method, path, form)

    def _asked(self, secure, method, path, form):
        connection = http.client.HTTPConnection(self.host)
        connection.sock = secure
        headers = {
            "Cookie": "; ".join(f"{name}={v}" for name, v in self.cookies.items()),
            "Origin": f"https://{self.host}",
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

    def sign_in(self, name, password):
        """Sign in on the page for it; return the answer."""
        return self.send("/sign-in/", username=name, password=password)

    def send(self, path, **fields):
        """Fill in and send the form of a page; return the answer."""
        _, page = self.ask("GET", path)
        token = re.search(r'name="csrfmiddlewaretoken" value="([^"]+)"', page)[1]
        return self.ask("POST", path, {"csrfmiddlewaretoken": token, **fields})[0]
