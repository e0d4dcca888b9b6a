"""Runs a command with a pseudo terminal as its stderr; stdin and stdout are passed on.

usage: terminal.py [--interrupt TEXT] COMMAND...

What the terminal gets is copied to stderr as it comes, byte for byte. With --interrupt, the command
gets SIGINT once TEXT has come. The exit status is the command's.
"""

import os
import signal
import subprocess
import sys


def main(words):
    text = None
    if words[:1] == ["--interrupt"]:
        text, words = words[1].encode(), words[2:]
    ours, theirs = os.openpty()
    command = subprocess.Popen(words, stderr=theirs)
    os.close(theirs)
    seen = b""
    while True:
        try:
            chunk = os.read(ours, 4096)
        except OSError:  # EIO: the command has closed its end
            break
        if not chunk:
            break
        os.write(2, chunk)
        seen += chunk
        if text is not None and text in seen:
            command.send_signal(signal.SIGINT)
            text = None
    return command.wait()


sys.exit(main(sys.argv[1:]))
