from __future__ import annotations

import socket

LOOPBACK = "127.0.0.1"
TRIES = 50
BACKLOG = 512


def listen(port: int) -> socket.socket:
    """A listening socket on loopback at ``port`` or the next free one above it.

    It is handed to the web server as it is, so that nobody can take the port in between. Whoever
    calls early waits until the server takes over.
    """
    for candidate in range(port, min(port + TRIES, 65_536)):
        listener = socket.socket()
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            listener.bind((LOOPBACK, candidate))
            listener.listen(BACKLOG)
        except OSError:
            listener.close()
            continue
        return listener
    raise OSError(f"No free port from {port} on.")


def address_of(listener: socket.socket) -> str:
    return f"http://{LOOPBACK}:{listener.getsockname()[1]}/"
