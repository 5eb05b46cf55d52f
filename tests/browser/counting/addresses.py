"""One address that phones know, behind which one server after another stands."""

import socket
import threading
from contextlib import suppress

BYTES = 65_536


class Address:
    """One address, behind which one server after another stands."""

    def __init__(self, server):
        self._behind, self._open = server, []
        self._listening = socket.create_server(("localhost", 0))
        self.url = f"http://localhost:{self._listening.getsockname()[1]}"
        threading.Thread(target=self._listen, daemon=True).start()

    def stands_at(self, server):
        """Lead there from now on; who is still talking to the one before is cut off."""
        self._behind = server
        for one in self._open:
            with suppress(OSError):
                one.shutdown(socket.SHUT_RDWR)

    def close(self):
        self._listening.close()

    def _listen(self):
        with suppress(OSError):
            while True:
                asking, _ = self._listening.accept()
                thread = self._behind.thread
                answering = socket.create_connection((thread.host, thread.port))
                self._open += [asking, answering]
                for pair in ((asking, answering), (answering, asking)):
                    threading.Thread(target=pass_on, args=pair, daemon=True).start()


def pass_on(one, other):
    with suppress(OSError):
        while said := one.recv(BYTES):
            other.sendall(said)
    with suppress(OSError):
        other.shutdown(socket.SHUT_WR)
