"""Print the modules of each folder and the imports between folders."""

import sys
from collections import Counter
from graphlib import CycleError, TopologicalSorter
from pathlib import PurePosixPath

import grimp

APPS = ("salon", "formulas", "clients", "consult")


def folder_of(module: str, packages: frozenset[str]) -> str:
    """Return the folder of a module: itself if it is a package, else its parent."""
    return module if module in packages else module.rpartition(".")[0]


def rooms() -> tuple[Counter[str], Counter[tuple[str, str]]]:
    """Return the number of modules in each folder, and of imports from folder to folder."""
    graph = grimp.build_graph(*APPS, cache_dir=None)
    names = sorted(name for name in graph.modules if ".migrations" not in name)
    packages = frozenset(name for name in names if graph.find_children(name)) | set(APPS)
    modules = Counter(folder_of(name, packages) for name in names)
    arrows = Counter(
        (start, end)
        for name in names
        for imported in graph.find_modules_directly_imported_by(name)
        if (start := folder_of(name, packages)) != (end := folder_of(imported, packages))
    )
    return modules, arrows


def circle() -> list[str]:
    """Return modules of which each imports the next, the last being the first; or nothing.

    Imports inside of functions count, too.
    """
    graph = grimp.build_graph(*APPS, cache_dir=None)
    imports = {name: graph.find_modules_directly_imported_by(name) for name in graph.modules}
    try:
        TopologicalSorter(imports).prepare()
    except CycleError as error:
        return [str(name) for name in error.args[1]]
    return []


def main() -> int:
    modules, arrows = rooms()
    for folder in sorted(modules):
        out = [(end, count) for (start, end), count in arrows.items() if start == folder]
        print(f"{PurePosixPath(folder.replace('.', '/'))}: {modules[folder]} modules")
        for end, count in sorted(out):
            print(f"    -> {PurePosixPath(end.replace('.', '/'))} ({count})")
    print(f"{len(modules)} folders, {sum(modules.values())} modules, {len(arrows)} arrows")
    found = circle()
    print(f"A circle: {' <- '.join(found)}" if found else "No circle of modules")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
