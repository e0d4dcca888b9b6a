"""Runs a command with a pseudo terminal as its stderr; stdin and stdout are passed on.

usage: terminal.py [--stdout COLUMNS] [--interrupt TEXT] COMMAND...

What the terminal gets is copied to stderr as it comes, byte for byte. With --stdout, it is the command's
stdout instead, so many columns wide, and copied there; 0 is a terminal that does not know its width. With
--interrupt, the command gets SIGINT once TEXT has come. The exit status is the command's.
"""

import fcntl
import os
import signal
import struct
import subprocess
import sys
import termios


def main(words):
    text, fd = None, 2
    ours, theirs = os.openpty()
    if words[:1] == ["--stdout"]:
        fd = 1
        fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("4H", 24, int(words[1]), 0, 0))
        form = termios.tcgetattr(theirs)
        form[1] &= ~termios.OPOST  # LF stays LF
        termios.tcsetattr(theirs, termios.TCSANOW, form)
        words = words[2:]
    if words[:1] == ["--interrupt"]:
        text, words = words[1].encode(), words[2:]
    command = subprocess.Popen(words, **{"stdout" if fd == 1 else "stderr": theirs})
    os.close(theirs)
    seen = b""
    while True:
        try:
            chunk = os.read(ours, 4096)
        except OSError:  # EIO: the command has closed its end
            break
        if not chunk:
            break
        os.write(fd, chunk)
        seen += chunk
        if text is not None and text in seen:
            command.send_signal(signal.SIGINT)
            text = None
    return command.wait()


sys.exit(main(sys.argv[1:]))
