"""A serial device's end of a PTY that behaves as a UART does: bytes sent at another baud than the port's arrive as other bytes, and bytes
that are sent while nobody has the port open are lost. Both are looked up at the very moment of sending.

Arguments: the link to make, the UNIX socket with the device's bytes, the device's baud (0: any will do).
"""
import os
import pty
import select
import socket
import sys
import termios
import tty

LINK, DOOR, BAUD = sys.argv[1], sys.argv[2], int(sys.argv[3])
# At any baud a UART gives whole bytes, a 10 ms slice of them here: what is being sent while the baud changes is cut, not moved.
SLICE_BYTES = max(1, BAUD // 1000) if BAUD else 4096
SPEEDS = {getattr(termios, name): int(name[1:]) for name in dir(termios) if name[0] == "B" and name[1:].isdigit()}

master, slave = pty.openpty()
tty.setraw(slave)
name = os.ttyname(slave)
# Closed, so that the master is told whether somebody has the port open.
os.close(slave)
os.set_blocking(master, False)
device = socket.socket(socket.AF_UNIX)
device.connect(DOOR)
os.symlink(name, LINK)
poll = select.poll()
poll.register(device, select.POLLIN)


def port_is_open():
    state = select.poll()
    state.register(master, select.POLLIN)
    return not any(event & select.POLLHUP for _, event in state.poll(0))


def heard(data):
    if BAUD == 0 or SPEEDS.get(termios.tcgetattr(master)[5]) == BAUD:
        return data
    return bytes(0x80 | ((byte * 7 + i * 13) & 0x7F) for i, byte in enumerate(data))


def send(data):
    for start in range(0, len(data), SLICE_BYTES):
        if not port_is_open():
            return
        try:
            os.write(master, heard(data[start : start + SLICE_BYTES]))
        except BlockingIOError:
            # Nobody reads: a UART's overrun.
            return


while True:
    # A closed port's master is always "hung up": it is looked at again some milliseconds later.
    is_open = port_is_open()
    if is_open:
        poll.register(master, select.POLLIN)
    else:
        try:
            poll.unregister(master)
        except KeyError:
            pass
    for source, _ in poll.poll(10):
        if source == device.fileno():
            data = device.recv(65536)
            if not data:
                sys.exit(0)
            send(data)
        else:
            try:
                device.sendall(os.read(master, 4096))
            except OSError:
                pass
