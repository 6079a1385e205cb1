"""The same from Python by cffi, against the installed library: lateral_cffi.py PREFIX JOB.toml.

The Python package `fallwise` is the better way for Python; this shows how any language with a foreign function interface gets at the library.
"""

import sys
from pathlib import Path

from cffi import FFI

prefix, job_file = Path(sys.argv[1]), sys.argv[2].encode()


def declarations(header: str) -> str:
    """The header as a C compiler of before 2023 sees it: cffi has no preprocessor of its own."""
    taken, lines = [True], []
    for line in header.splitlines():
        match line.split():
            case ["#if" | "#ifdef", *condition]:
                # Only newer C and C++ are asked for.
                taken.append(not any("__cplusplus" in word or "__STDC" in word for word in condition))
            case ["#ifndef", _]:
                taken.append(True)
            case ["#else", *_]:
                taken[-1] = not taken[-1]
            case ["#endif", *_]:
                taken.pop()
            case [word, *_] if word.startswith("#"):
                pass
            case _ if all(taken):
                lines.append(line)
    return "\n".join(lines)


header = declarations((prefix / "include/fallwise/fallwise.h").read_text(encoding="utf-8"))
ffi = FFI()
ffi.cdef(header)
library = ffi.dlopen(str(prefix / "lib/libfallwise.so"))
error = ffi.new("fw_error *", {"struct_size": ffi.sizeof("fw_error")})


def checked(status: int) -> None:
    """Raises what a call failed with."""
    if status:
        raise RuntimeError(ffi.string(error.message).decode())


def made(kind: str, function, free, *arguments):
    """A handle that is freed with its Python object."""
    out = ffi.new(f"{kind} **")
    checked(function(*arguments, out, error))
    return ffi.gc(out[0], free)


job = made("fw_job", library.fw_job_from_file, library.fw_job_free, job_file, len(job_file))
lateral = made("fw_lateral", library.fw_lateral_solve, library.fw_lateral_free, job, ffi.NULL)
answers = made("fw_answers", library.fw_lateral_answers, library.fw_answers_free, lateral, ffi.NULL, ffi.NULL)

needed = ffi.new("size_t *")
checked(library.fw_answers_sentence(answers, ffi.NULL, 0, needed, error))
text = ffi.new("char[]", needed[0])
checked(library.fw_answers_sentence(answers, text, needed[0], needed, error))
print(ffi.string(text).decode())

summary = ffi.new("fw_summary *", {"struct_size": ffi.sizeof("fw_summary")})
checked(library.fw_answers_summary(answers, summary, error))
print(f"{summary.segments} segments, fall {1e3 * summary.fall_m:.0f} mm (sd {1e3 * summary.fall_sd_m:.0f} mm)")
