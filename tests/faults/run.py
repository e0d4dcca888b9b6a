"""A typical run of a program, made again and again while things go wrong, and what it should come to."""
import os
import re
import shutil
import signal

LIMIT = 64 << 20
TEMPORARY = re.compile(r"\.lotpipe-[0-9a-f]{6}")


def is_left(name):
    """Is the path of a temporary, or in one?"""
    return any(TEMPORARY.fullmatch(part) for part in name.split("/"))


def tree(top="."):
    """All files below, with what is in them; directories end in a slash."""
    found = {}
    for directory, names, files in os.walk(top):
        for name in names:
            found[os.path.relpath(os.path.join(directory, name), top) + "/"] = b""
        for name in files:
            path = os.path.join(directory, name)
            with open(path, "rb") as handle:
                found[os.path.relpath(path, top)] = handle.read()
    return found


class Run:
    """A run in a directory of its own, with the files that it reads."""

    def __init__(self, name, stdin, command, place):
        self.name, self.command, self.program = name, command.split(" "), command.split(" ")[0]
        self.place = place
        shutil.rmtree(place, ignore_errors=True)
        shutil.copytree("inputs", place)
        self.stdin = os.path.abspath(stdin) if stdin == "/dev/null" else stdin
        self.path = shutil.which(self.program)
        os.chdir(place)
        self.inputs = set(os.listdir("."))
        self.outputs = []
        status, _ = self.once({})
        if status != 0:
            raise SystemExit("%s: exit status %d without a fault: %s" % (name, status, self.told()))
        self.due_out, self.due_err = self.written(), self.told()
        self.outputs = sorted(set(os.listdir(".")) - self.inputs)
        self.due = self.outputs_now()
        self.old = self.make_old()

    def start(self, environment, limited=False, beside=""):
        """The process; what it writes and tells goes to files of the names that end so."""
        whole = dict(os.environ, FAULT_COUNT=os.path.abspath("../count"), **environment)
        new = os.O_WRONLY | os.O_CREAT | os.O_TRUNC
        opened = [
            (os.POSIX_SPAWN_OPEN, 0, self.stdin, os.O_RDONLY, 0),
            (os.POSIX_SPAWN_OPEN, 1, "../stdout" + beside, new, 0o666),
            (os.POSIX_SPAWN_OPEN, 2, "../stderr" + beside, new, 0o666),
        ]
        path, words = self.path, self.command
        if limited:
            path, words = "/bin/sh", ["sh", "-c", 'ulimit -v %d && exec "$@"' % (LIMIT >> 10), "sh"] + self.command
        # As from a terminal, though this runs behind nohup or &, where the program would not end by them.
        defaults = [signal.SIGXFSZ, signal.SIGPIPE, signal.SIGHUP, signal.SIGINT, signal.SIGTERM]
        return os.posix_spawn(path, words, whole, file_actions=opened, setsigdef=defaults)

    def once(self, environment, limited=False, meanwhile=None):
        """The exit status, less than 0 for a signal, and what was counted, a line a process."""
        if os.path.exists("../count"):
            os.unlink("../count")
        pid = self.start(environment, limited)
        if meanwhile is not None:
            meanwhile(pid)
        _, status = os.waitpid(pid, 0)
        counts = []
        if os.path.exists("../count"):
            with open("../count", encoding="ascii") as handle:
                counts = [line.split() for line in handle]
        return os.waitstatus_to_exitcode(status), counts

    def both(self, environment):
        """A run that stops itself somewhere, another one from beginning to end, and the rest of the first: the exit
        statuses of both, None for the other where the first did not stop."""
        other = None
        pid = self.start(environment)
        if os.waitid(os.P_PID, pid, os.WEXITED | os.WSTOPPED | os.WNOWAIT).si_code == os.CLD_STOPPED:
            _, other = os.waitpid(self.start({}, beside="-other"), 0)
            os.kill(pid, signal.SIGCONT)
        _, status = os.waitpid(pid, 0)
        return os.waitstatus_to_exitcode(status), other

    @staticmethod
    def written():
        with open("../stdout", "rb") as handle:
            return handle.read()

    @staticmethod
    def told():
        with open("../stderr", encoding="utf-8", errors="replace") as handle:
            return handle.read()

    def outputs_now(self):
        return {name: bytes_ for name, bytes_ in tree().items() if name.split("/")[0] not in self.inputs}

    def clear(self):
        for name in set(os.listdir(".")) - self.inputs:
            if os.path.isdir(name):
                shutil.rmtree(name)
            else:
                os.unlink(name)

    def make_old(self):
        """Other files of the same names: for a directory, an earlier run's on half of the list."""
        self.clear()
        for name in self.outputs:
            if not any(due.startswith(name + "/") for due in self.due):
                with open(name, "wb") as handle:
                    handle.write(b"old\n")
        if any("/" in due for due in self.due):
            with open(self.stdin, "rb") as handle:
                lines = handle.readlines()
            whole = self.stdin
            self.stdin = "../half"
            with open(self.stdin, "wb") as handle:
                handle.writelines(lines[: 1 + len(lines) // 2])
            self.once({})
            self.stdin = whole
        shutil.rmtree("../old", ignore_errors=True)
        os.mkdir("../old")
        for name in self.outputs:
            (shutil.copytree if os.path.isdir(name) else shutil.copy)(name, "../old/" + name)
        return self.outputs_now()

    def prepare(self, old):
        self.clear()
        if old:
            for name in self.outputs:
                (shutil.copytree if os.path.isdir("../old/" + name) else shutil.copy)("../old/" + name, name)
