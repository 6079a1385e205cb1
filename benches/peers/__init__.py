"""fallwise beside what a user would combine instead, on the same seeded input in the same run. `run.sh` is the command.

| module | what it has |
| --- | --- |
| `record` | what a run writes down |
| `measure`, `packages` | ways of doing one thing, seen to agree, then timed by turns; the packages that they need |
| `paths`, `breaks`, `ties`, `pools`, `depths`, `logs`, `lateral`, `sections`, `many` | one theme each: input and ways |
| `with_fallwise`, `with_packages` | the whole lateral as two small programs, warm and from a cold process |
| `theme`, `memory` | one theme, and one peak of memory, in a process of its own |
| `processes` | whole processes: how they are started, how long they take, and their peaks |
| `machine`, `page` | what it was measured on; the page that is made of it all |
| `__main__` | the run: it imports no package itself, so that no peak of a child is its own |
"""
