"""A disk that loses its power: what SQLite had written by then, and what was safe.

SQLite writes through a table of functions. Those for writing, shortening and syncing
are wrapped here, so that all that the program does to its files is kept in order. From
that the files are made as they can stand when the power goes at any point of it.

What this takes for granted:
- what was written to a file before its last sync is on the disk, whole;
- of what was written since, any sectors of 512 bytes may be there or not, in any order;
- a sector that is half overwritten keeps the other half (SQLite is told so too);
- a file's name is on the disk with its first sync: SQLite syncs the folder then;
- the disk tells no lies about syncing, and nothing that lies on it goes bad.
"""

import _sqlite3
import ctypes
from ctypes import CFUNCTYPE, POINTER, Structure, c_char_p, c_int, c_int64, c_void_p
from pathlib import Path

SECTOR_BYTES = 512
# Places in sqlite3_io_methods, which begins with its version.
CLOSE, READ, WRITE, TRUNCATE, SYNC = range(1, 6)
METHODS = 19

OPENING = CFUNCTYPE(c_int, c_void_p, c_void_p, c_void_p, c_int, c_void_p)
WRITING = CFUNCTYPE(c_int, c_void_p, c_void_p, c_int, c_int64)
TRUNCATING = CFUNCTYPE(c_int, c_void_p, c_int64)
SYNCING = CFUNCTYPE(c_int, c_void_p, c_int)


class Vfs(Structure):
    """sqlite3_vfs: how SQLite reaches files; the rest of it is copied as it is."""

    _fields_ = (
        ("version", c_int),
        ("file_bytes", c_int),
        ("longest_path", c_int),
        ("next", c_void_p),
        ("name", c_char_p),
        ("data", c_void_p),
        ("open", c_void_p),
        ("rest", c_void_p * 16),
    )


class Watch:
    """Keeps what this process does to SQLite's files, in order, as `events`.

    Each is what was done, to which file, and with what. SQLite holds on to the
    functions here as long as the process lives: watch in a child.
    """

    def __init__(self):
        self.events, self.names, self.methods, self.kept = [], {}, {}, []
        library = ctypes.CDLL(_sqlite3.__file__)  # with all that it is linked to
        library.sqlite3_vfs_find.restype = POINTER(Vfs)
        self.usual = library.sqlite3_vfs_find(None).contents
        own = Vfs()
        ctypes.memmove(ctypes.byref(own), ctypes.byref(self.usual), ctypes.sizeof(own))
        own.name, own.open = b"watched", self._keep(OPENING(self._open))
        self.kept.append(own)
        assert library.sqlite3_vfs_register(ctypes.byref(own), 1) == 0

    def _open(self, _vfs, name, file, flags, flags_out):
        usually = OPENING(self.usual.open)
        usual_vfs = ctypes.addressof(self.usual)
        status = usually(usual_vfs, name, file, flags, flags_out)
        if status == 0 and name:
            self.names[file] = Path(ctypes.string_at(name).decode()).name
            methods = c_void_p.from_address(file)
            if methods.value not in self.methods:
                self.methods[methods.value] = self._wrapped(methods.value)
            methods.value = self.methods[methods.value]
        return status

    def _wrapped(self, address):
        own = (c_void_p * METHODS)()
        ctypes.memmove(own, address, ctypes.sizeof(own))
        usual_write, usual_truncate = WRITING(own[WRITE]), TRUNCATING(own[TRUNCATE])
        usual_sync = SYNCING(own[SYNC])

        def write(file, data, size, offset):
            self._note("write", file, (offset, ctypes.string_at(data, size)))
            return usual_write(file, data, size, offset)

        def truncate(file, size):
            self._note("truncate", file, size)
            return usual_truncate(file, size)

        def sync(file, flags):
            status = usual_sync(file, flags)
            self._note("sync", file, None)
            return status

        own[WRITE] = self._keep(WRITING(write))
        own[TRUNCATE] = self._keep(TRUNCATING(truncate))
        own[SYNC] = self._keep(SYNCING(sync))
        self.kept.append(own)
        return ctypes.addressof(own)

    def _note(self, what, file, how):
        self.events.append((what, self.names[file], how))

    def _keep(self, function):
        self.kept.append(function)
        return ctypes.cast(function, c_void_p).value


class Disk:
    """Files of which some bytes are safe, and others written but not synced yet."""

    def __init__(self, files):
        self.safe = {name: bytearray(content) for name, content in files.items()}
        self.loose = {}

    def take(self, event):
        """Let one thing happen to a file."""
        what, name, how = event
        if what == "sync":
            self.safe[name] = self.image(name, lambda sector: True)
            self.loose[name] = []
        else:
            self.loose.setdefault(name, []).append((what, how))

    def files(self, is_there):
        """Return each file as it stands where so much of what is loose is there."""
        names = self.safe.keys() | self.loose.keys()
        return {name: self.image(name, is_there) for name in names}

    def image(self, name, is_there):
        """Return one file; `is_there` is asked of each sector that is loose."""
        content = bytearray(self.safe.get(name, b""))
        for what, how in self.loose.get(name, []):
            if what == "truncate":
                if is_there(None):
                    del content[how:]
                continue
            offset, data = how
            for start in range(0, len(data), SECTOR_BYTES):
                if is_there(start):
                    part = data[start : start + SECTOR_BYTES]
                    at = offset + start
                    content.extend(bytes(max(at - len(content), 0)))
                    content[at : at + len(part)] = part
        return content
