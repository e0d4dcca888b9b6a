"""Runs commands in turn on one input and prints, a line each, the least seconds of processor time
(user and system) and the most memory.

usage: measure.py ROUNDS INPUT COMMAND [-- COMMAND]...
"""

import os
import sys


def run(command, path):
    """Seconds of processor time and peak KiB of one run; its stdout is thrown away."""
    pid = os.fork()
    if pid == 0:
        try:
            os.dup2(os.open(path, os.O_RDONLY), 0)
            os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
            os.execvp(command[0], command)
        finally:
            os._exit(127)
    _, status, used = os.wait4(pid, 0)
    if status != 0:
        sys.exit(f"{command[0]}: failed")
    return used.ru_utime + used.ru_stime, used.ru_maxrss


def main():
    rounds, path = int(sys.argv[1]), sys.argv[2]
    commands = [[]]
    for word in sys.argv[3:]:
        if word == "--":
            commands.append([])
        else:
            commands[-1].append(word)
    seen = [[] for _ in commands]
    for _ in range(rounds):
        for command, runs in zip(commands, seen):
            runs.append(run(command, path))
    for runs in seen:
        print(f"{min(r[0] for r in runs):.3f} {max(r[1] for r in runs)}")


main()
