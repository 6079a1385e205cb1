"""Reads drawings with a general library (ezdxf) and audits them: `python3 dxf_check.py FILE.dxf ...`.

Fails where the library would have to mend anything, where a layer has a colour, or where the cautions are missing. With
`--picture FOLDER` it also draws each (ezdxf's drawing add-on, matplotlib), for whoever wants to look.
"""

import sys
from pathlib import Path

import ezdxf


def check(path):
    # Without the library's means of recovery: what is not in order is an error.
    drawing = ezdxf.readfile(path)
    auditor = drawing.audit()
    faults = [str(e) for e in auditor.errors] + [f"mended: {f}" for f in auditor.fixes]
    space = drawing.modelspace()
    if drawing.dxfversion != "AC1015":
        faults.append(f"version {drawing.dxfversion}")
    if drawing.header["$INSUNITS"] not in (2, 6):
        faults.append(f"unit {drawing.header['$INSUNITS']}")
    for layer in drawing.layers:
        if layer.color != 7:
            faults.append(f"layer {layer.dxf.name} has colour {layer.color}")
    named = {layer.dxf.name for layer in drawing.layers}
    for entity in space:
        if entity.dxf.layer not in named:
            faults.append(f"{entity} lies on a layer that is not there")
        if entity.dxf.hasattr("color"):
            faults.append(f"{entity} has a colour of its own")
    cautions = " ".join(e.dxf.text for e in space.query('TEXT[layer=="cautions"]'))
    if "buried services" not in cautions or "trench can collapse" not in cautions:
        faults.append("the cautions are not all there")
    titles = " ".join(e.dxf.text for e in space.query('TEXT[layer=="title"]'))
    if "True scale both ways, 1:1, no exaggeration." not in titles:
        faults.append("the scale is not said")
    if not space.query("LWPOLYLINE"):
        faults.append("there is no line")
    return drawing, faults


def picture(drawing, path):
    import matplotlib

    matplotlib.use("Agg")
    from ezdxf.addons.drawing import matplotlib as draw

    draw.qsave(drawing.modelspace(), path, bg="#FFFFFF", fg="#000000", dpi=200, size_inches=(24, 14))


def main(arguments):
    folder = None
    if arguments[:1] == ["--picture"]:
        folder, arguments = Path(arguments[1]), arguments[2:]
    if not arguments:
        sys.exit(__doc__)
    failed = False
    for name in map(Path, arguments):
        drawing, faults = check(name)
        print(f"{name}: {len(drawing.modelspace())} entities" + "".join(f"\n  {fault}" for fault in faults))
        failed |= bool(faults)
        if folder:
            picture(drawing, folder / f"{name.parent.name}-{name.stem}.png")
    sys.exit(1 if failed else 0)


main(sys.argv[1:])
