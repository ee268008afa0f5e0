"""Independent readers on what `fallside share`, `fallside gallery` and `fallside pack` hand on of a project.

    python tests/outside/handed.py target/debug/fallside FRAMES DIR

Needs pillow, numpy, iiif-prezi3, bagit (pip); uses exiftool. Sources: Pillow (libjpeg) and LittleCMS for pixels and profile, exiftool for
Exif and XMP (IPTC Photo Metadata 2025.1), iiif-prezi3 for Presentation 3.0, the Image API 3.0's own arithmetic for tiles, bagit
(RFC 8493) and Python's csv (RFC 4180) for the archive.
"""
import csv, io, json, pathlib, shutil, subprocess, sys
import bagit, iiif_prezi3, numpy as np
from PIL import Image, ImageCms

program, frames, folder = sys.argv[1], sys.argv[2], pathlib.Path(sys.argv[3])
checks = 0


def check(truth, what):
    global checks
    checks += 1
    if not truth:
        sys.exit(f"handed: {what}")


def run(*words, code=(0,)):
    done = subprocess.run([program, *map(str, words)], capture_output=True, text=True)
    check(done.returncode in code, f"{words}: {done.returncode} {done.stderr}")
    return done.stdout


def pixels(path):
    with Image.open(path) as im:
        check(im.mode == "RGB", f"{path}: mode {im.mode}")
        return np.asarray(im).astype(int)


def is_srgb(path):
    """White, and a middle grey, through the file's own profile and the reference's sRGB come to the same Lab."""
    with Image.open(path) as im:
        own = ImageCms.ImageCmsProfile(io.BytesIO(im.info["icc_profile"]))
    lab, srgb = ImageCms.createProfile("LAB"), ImageCms.createProfile("sRGB")
    for colour in [(255, 255, 255), (119, 119, 119), (200, 30, 60), (10, 180, 90)]:
        px = [ImageCms.applyTransform(Image.new("RGB", (1, 1), colour), ImageCms.buildTransform(p, lab, "RGB", "LAB")).getpixel((0, 0)) for p in (own, srgb)]
        check(max(abs(a - b) for a, b in zip(*px)) <= 1, f"{path}: {colour} is {px}")


project = folder / "project"
shutil.rmtree(folder, ignore_errors=True)
folder.mkdir(parents=True)
run("take", frames, "--in", project, code=(0, 1))
words = {"title": "Low water – “Ebbe”", "alt": "Two boats lie in the mud, 100 % dry.", "date": "2009-07", "place": "Çeşme harbour",
         "people": "Ada Brook; Bo & Cy", "subject": "boats; mud", "rights": "© nobody real", "film": "old stock", "note": "never again"}
# Without a decision, prints that say nothing go out without names.
run("privacy", "open", "--in", project)
run("describe", "P0001", "--in", project, *sum(([f"--{k}", v] for k, v in words.items()), []))
run("describe", "P0002", "--in", project, "--privacy", "ask", "--people", "Ada Brook", "--title", "Ada again", "--subject", "a window")
run("describe", "P0003", "--in", project, "--privacy", "private")
# Prints that leave the frame have no right edge to look for.
kept = {row["id"] for row in json.loads(run("find", "verdict:keep", "--in", project, "--json"))}

# Shares: size, centre, white, profile, words.
for shape, size in [("1:1", (1080, 1080)), ("4:5", (864, 1080)), ("9:16", (608, 1080)), ("16:9", (1080, 608)), ("1.91:1", (1080, 565))]:
    out = folder / shape.replace(":", "-")
    answer = json.loads(run("share", "--in", project, "--all", "--shape", shape, "--pixels", "1080", "--out", out, "--json"))
    check(answer["private"] == ["P0003"] and len(answer["shares"]) > 5, f"{shape}: {answer['private']}")
    again = {row["id"] for row in json.loads(run("find", "verdict:reshoot", "--in", project, "--json"))} - {"P0003"}
    check(again and {line.split(":")[0] for line in answer["reshoot"]} == again, f"{shape}: to be shot again: {answer['reshoot']}")
    for share in answer["shares"]:
        path = out / share["file"]
        px = pixels(path)
        h, w, _ = px.shape
        full = (w, h) == size or any("no more pixels" in n for n in share["notes"])
        check(full and abs(w / h - size[0] / size[1]) < 0.004, f"{path}: {w} x {h}")
        edge = np.concatenate([px[:4].ravel(), px[-4:].ravel(), px[:, :4].ravel(), px[:, -4:].ravel()])
        check(edge.min() == 255, f"{path}: its edge is {edge.min()}")
        l, t, r, b = share["print_px"]
        check(abs(l + r - w) <= 1 and abs(t + b - h) <= 1, f"{path}: not centred: {share['print_px']}")
        # No outline of the mount: away from print and shadow there is nothing but white.
        dark = np.argwhere(px.min(axis=2) < 255)
        (y0, x0), (y1, x1) = dark.min(axis=0), dark.max(axis=0)
        whole = x0 <= l + 1 and y0 <= t + 1 and x1 >= r - 2 and y1 >= b - 2
        check(whole or share["print"] not in kept, f"{path}: print at {l, t, r, b}, dark {x0, y0, x1, y1}")
        inside = px[int(t) + 8:int(b) - 8, int(l) + 8:int(r) - 8]
        check(inside.min() < 120 and inside.std() > 10, f"{path}: no picture in the print")
    is_srgb(out / answer["shares"][0]["file"])
tags = {}
for name in ["P0001", "P0002"]:
    text = subprocess.run(["exiftool", "-j", "-struct", "-G1", str(folder / "4-5" / f"{name}-4x5.jpg")], capture_output=True, text=True)
    tags[name] = json.loads(text.stdout)[0]
one, two = tags["P0001"], tags["P0002"]
for key, value in [("XMP-dc:Title", words["title"]), ("XMP-iptcCore:AltTextAccessibility", words["alt"]), ("XMP-dc:Subject", ["boats", "mud"]),
                   ("XMP-photoshop:DateCreated", "2009:07"), ("XMP-iptcExt:PersonInImage", ["Ada Brook", "Bo & Cy"]), ("XMP-dc:Rights", words["rights"])]:
    check(one.get(key) == value, f"P0001: {key} is {one.get(key)}")
check(one["XMP-iptcExt:LocationShown"][0]["LocationName"] == words["place"], "P0001: place")
check("never again" not in json.dumps(one), "P0001: its note went out")
check(not {"Make", "Model", "LensModel", "DateTimeOriginal", "FNumber"} & {k.split(":")[-1] for k in one}, "the camera went out")
check("Ada" not in json.dumps(two) and two["XMP-dc:Subject"] == "a window" or two["XMP-dc:Subject"] == ["a window"], f"P0002: {two}")
small = json.loads(run("share", "--in", project, "--all", "--kilobytes", "90", "--out", folder / "small", "--json"))
for share in small["shares"]:
    check((folder / "small" / share["file"]).stat().st_size <= 90_000, f"{share['file']}: too long")

# The gallery: manifest, info, tiles.
site = folder / "site"
address = "https://example.org/harbour/"
run("gallery", "--in", project, "--all", "--title", "The harbour years", "--address", address, "--newsletter", "300", "--out", site)
manifest = json.loads((site / "manifest.json").read_text())
read = iiif_prezi3.Manifest(**manifest)
check(len(read.items) == len(small["shares"]), f"{len(read.items)} canvases")
check(manifest["@context"] == "http://iiif.io/api/presentation/3/context.json" and manifest["type"] == "Manifest", "context")
for canvas in manifest["items"]:
    body = canvas["items"][0]["items"][0]["body"]
    here = site / body["service"][0]["id"].removeprefix(address)
    with Image.open(site / body["id"].removeprefix(address)) as im:
        check([im.width, im.height] == [body["width"], body["height"]] == [canvas["width"], canvas["height"]], f"{here}: size")
        whole = np.asarray(im).astype(int)
    thumb = canvas["thumbnail"][0]
    with Image.open(site / thumb["id"].removeprefix(address)) as im:
        check([im.width, im.height] == [thumb["width"], thumb["height"]], f"{here}: thumbnail")
    info = json.loads((here / "info.json").read_text())
    check(info["@context"] == "http://iiif.io/api/image/3/context.json" and info["profile"] == "level0" and info["type"] == "ImageService3"
          and info["protocol"] == "http://iiif.io/api/image" and info["id"] == body["service"][0]["id"], f"{here}: info.json")
    w, h, tile = info["width"], info["height"], info["tiles"][0]["width"]
    for size in info["sizes"]:
        px = pixels(here / f"full/{size['width']},{size['height']}/0/default.jpg")
        check(px.shape[:2] == (size["height"], size["width"]), f"{here}: {size}")
    for s in info["tiles"][0]["scaleFactors"]:
        put = np.zeros((-(-h // s), -(-w // s), 3), int)
        for y in range(0, h, tile * s):
            for x in range(0, w, tile * s):
                wr, hr = min(tile * s, w - x), min(tile * s, h - y)
                part = pixels(here / f"{x},{y},{wr},{hr}/{-(-wr // s)},{-(-hr // s)}/0/default.jpg")
                put[y // s:y // s + part.shape[0], x // s:x // s + part.shape[1]] = part
        if s == 1:
            check(np.abs(put - whole).mean() < 1.5, f"{here}: tiles differ from the whole")
        else:
            beside = pixels(here / f"full/{put.shape[1]},{put.shape[0]}/0/default.jpg")
            check(np.abs(put - beside).mean() < 1.5, f"{here}: tiles at {s} differ")
        check(min(put[0].min(), put[-1].min(), put[:, 0].min(), put[:, -1].min()) == 255, f"{here}: edge at {s}")
    is_srgb(here / "full/max/0/default.jpg")
check((site / "newsletter.html").stat().st_size <= 300_000, "the newsletter is too long")

# The archive: whole, with every original, its words as a sheet and in the sidecars.
bag = folder / "bag"
run("pack", "--in", project, "--all", "--out", bag)
check(bagit.Bag(str(bag)).validate(), "the archive is no bag")
with open(bag / "data/prints.csv", newline="", encoding="utf-8") as f:
    sheet = {row["print"]: row for row in csv.DictReader(f)}
for key, value in words.items():
    check(sheet["P0001"][key] == value, f"prints.csv: {key} is {sheet['P0001'][key]}")
for row in sheet.values():
    check((bag / "data" / row["original"]).is_file() and (bag / "data" / row["mount"]).is_file(), f"prints.csv: {row['print']} names files that are not there")
check(sheet["P0003"]["privacy"] == "private", "prints.csv: privacy")
master = pathlib.Path(sheet["P0001"]["master"])
text = subprocess.run(["exiftool", "-j", "-struct", "-G1", str(bag / "data" / master.with_suffix(".xmp"))], capture_output=True, text=True)
side = json.loads(text.stdout)[0]
for key, value in [("XMP-dc:Title", words["title"]), ("XMP-iptcCore:AltTextAccessibility", words["alt"]), ("XMP-dc:Subject", ["boats", "mud"]),
                   ("XMP-photoshop:DateCreated", "2009:07"), ("XMP-iptcExt:PersonInImage", ["Ada Brook", "Bo & Cy"]), ("XMP-dc:Rights", words["rights"])]:
    check(side.get(key) == value, f"sidecar: {key} is {side.get(key)}")
check(side["XMP-iptcExt:LocationShown"][0]["LocationName"] == words["place"], "sidecar: place")
shutil.rmtree(folder)
print(f"handed: {checks} checks passed")
