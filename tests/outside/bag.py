"""An independent reader on the archives that `fallside pack` makes.

    python tests/outside/bag.py target/debug/fallside RESULTS DIR

Needs bagit (pip), the reference implementation of RFC 8493: it must find a packed box valid, and every damage planted in it that
`fallside verify` finds, and no other.
"""
import json, logging, pathlib, random, shutil, subprocess, sys
import bagit

program, results, folder = sys.argv[1], sys.argv[2], pathlib.Path(sys.argv[3])
logging.getLogger("bagit").setLevel(logging.CRITICAL)
checks = 0


def check(truth, what):
    global checks
    checks += 1
    if not truth:
        sys.exit(f"bag: {what}")


def verify(bag):
    run = subprocess.run([program, "verify", bag, "--json"], capture_output=True, text=True)
    return run.returncode, json.loads(run.stdout)["bags"][0]


def judged(bag, whole):
    """Paths that the reference implementation finds at fault. It stops at a wrong count, and before hashing where a file is missing
    or strange; so what it has found is mended, and it reads again until it finds the bag valid."""
    found = set()
    (bag / "tagmanifest-sha512.txt").unlink()
    while True:
        there = [p for p in (bag / "data").rglob("*") if p.is_file()]
        oxum = f"Payload-Oxum: {sum(p.stat().st_size for p in there)}.{len(there)}"
        info = bag / "bag-info.txt"
        info.write_text("\n".join(oxum if l.startswith("Payload-Oxum") else l for l in info.read_text().splitlines()) + "\n")
        try:
            bagit.Bag(str(bag)).validate()
            return found
        except bagit.BagValidationError as e:
            now = {d.path for d in e.details if getattr(d, "path", None)}
            if not now:
                sys.exit(f"bag: the reference names no path: {e}")
        for path in now:
            (bag / path).unlink(missing_ok=True)
            if (whole / path).exists():
                shutil.copy(whole / path, bag / path)
        found |= now


shutil.rmtree(folder, ignore_errors=True)
folder.mkdir(parents=True)
whole = folder / "whole"
run = subprocess.run([program, "pack", results, "--out", whole, "--title", "Ünïcode: 100 % prints"], capture_output=True, text=True)
check(run.returncode == 0, f"pack: {run.stderr}")
bag = bagit.Bag(str(whole))
check(bag.is_valid(), "the reference implementation does not find it valid")
check(bag.version == "1.0" and bag.encoding == "UTF-8" and bag.algorithms == ["sha512"], "version, encoding, algorithm")
check(bag.info["External-Description"] == "Ünïcode: 100 % prints", "description")
payload = sorted(p.relative_to(whole).as_posix() for p in (whole / "data").rglob("*") if p.is_file())
check(sorted(bag.payload_files()) == payload, "payload")
octets = sum((whole / p).stat().st_size for p in payload)
check(bag.info["Payload-Oxum"] == f"{octets}.{len(payload)}", "Payload-Oxum")
check(verify(whole)[0] == 0, "verify finds a good bag bad")

rng = random.Random(8493)
for turn in range(12):
    harmed = folder / "harmed"
    shutil.rmtree(harmed, ignore_errors=True)
    shutil.copytree(whole, harmed)
    planted = set()
    for path in rng.sample(payload, rng.randint(1, 4)):
        f = harmed / path
        kind = rng.choice(["bit", "cut", "gone", "longer"])
        if kind == "gone":
            f.unlink()
        else:
            data = bytearray(f.read_bytes())
            if kind == "bit":
                data[rng.randrange(len(data))] ^= 1 << rng.randrange(8)
            f.write_bytes(data[:-1] if kind == "cut" else data + (b"x" if kind == "longer" else b""))
        planted.add(path)
    if rng.random() < 0.5:
        (harmed / "data/masters/stranger.tif").write_bytes(b"x")
        planted.add("data/masters/stranger.tif")
    code, found = verify(harmed)
    ours = {d["path"] for d in found["damage"]}
    check(code == 1 and ours == planted, f"turn {turn}: planted {planted}, verify finds {ours}")
    theirs = judged(harmed, whole)
    check(theirs == planted, f"turn {turn}: planted {planted}, the reference finds {theirs}")
shutil.rmtree(folder)
print(f"bag: {checks} checks passed")
