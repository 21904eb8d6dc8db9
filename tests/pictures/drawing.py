"""Pictures drawn for the tests of pictures; every place is invented."""

import io
import random
import struct

from PIL import Image

KINDS = ["JPEG", "PNG", "WEBP", "AVIF", "TIFF", "GIF"]
GPS, MAKER, EXIF, ORIENTATION = 0x8825, 0x010F, 0x8769, 0x0112
PLACE = {0: b"\2\3\0\0", 1: "N", 2: (47.0, 11.0, 12.34), 3: "E", 4: (8.0, 22.0, 56.78)}
XMP = b"<x:xmpmeta><rdf:Description exif:GPSLatitude='47,11.2N'/></x:xmpmeta>"


def exif(gps=PLACE, **more):
    """An Exif block of an invented camera."""
    block = Image.Exif()
    block[MAKER] = "an invented camera"
    block[ORIENTATION] = 6
    block.get_ifd(EXIF)[0x9003] = "2026:11:25 18:00:00"
    if gps:
        block.get_ifd(GPS).update(gps)
    return block


def drawn(kind="JPEG", size=(32, 24), **more):
    """A picture of random points."""
    out = io.BytesIO()
    picture = Image.frombytes("RGB", size, random.Random(7).randbytes(size[0] * size[1] * 3))
    picture.save(out, kind, **more)
    return out.getvalue()


def told(data):
    """What a reader of pictures makes of it: the Exif entries, the position, the points."""
    picture = Image.open(io.BytesIO(data))
    picture.load()
    block = picture.getexif()
    return dict(block), dict(block.get_ifd(GPS)), dict(block.get_ifd(EXIF)), picture.tobytes()


def scan(data):
    """All of a JPEG picture from its first scan on."""
    return data[data.index(b"\xff\xda") :]


def segment(marker, content):
    """A segment of a JPEG picture."""
    return bytes([0xFF, marker]) + struct.pack(">H", len(content) + 2) + content


def behind_start(data, *segments):
    """A JPEG picture with segments put behind its start."""
    return data[:2] + b"".join(segments) + data[2:]


def tiff(*entries, then=0, rest=b""):
    """A block of one table."""
    table = struct.pack("<H", len(entries)) + b"".join(struct.pack("<HHII", *e) for e in entries)
    return struct.pack("<2sHI", b"II", 42, 8) + table + struct.pack("<I", then) + rest


def data_set(number, content, record=2):
    """A data set of IPTC data."""
    return struct.pack(">BBBH", 0x1C, record, number, len(content)) + content


def box(kind, *content):
    """A box of a HEIF file."""
    body = b"".join(content)
    return struct.pack(">I4s", len(body) + 8, kind) + body


def heic(items, *, idat=b"", more=b"", gap=b"", brand=b"heic"):
    """A HEIF file of items: kind, rest of its entry, content or a place, in how many pieces."""
    lists, places, bodies = [], [], []
    head = box(b"ftyp", brand, bytes(4), b"mif1")

    def entry(number, kind, rest):
        return box(b"infe", b"\2\0\0\0", struct.pack(">HH4s", number, 0, kind), b"\0", rest)

    def meta(start):
        places.clear()
        bodies.clear()
        at = start
        for number, (_, _, content, parts) in enumerate(items, 1):
            if not isinstance(content, bytes):
                method, where, size = content
                extents = [(where if method else start + where, size)]
                places.append((number, method, extents))
                continue
            size = -(-len(content) // parts)
            pieces = [content[i : i + size] for i in range(0, len(content), size)]
            extents = []
            for piece in pieces:
                extents.append((at, len(piece)))
                bodies.append(piece + gap)
                at += len(piece) + len(gap)
            places.append((number, 0, extents))
        rows = b"".join(
            struct.pack(">HHHH", number, method, 0, len(extents))
            + b"".join(struct.pack(">II", *one) for one in extents)
            for number, method, extents in places
        )
        iloc = box(b"iloc", b"\1\0\0\0\x44\0", struct.pack(">H", len(places)), rows)
        iinf = box(b"iinf", bytes(4), struct.pack(">H", len(lists)), *lists)
        return box(b"meta", bytes(4), iinf, iloc, *([box(b"idat", idat)] if idat else []))

    lists += [entry(n, kind, rest) for n, (kind, rest, _, _) in enumerate(items, 1)]
    start = len(head) + len(meta(0)) + 8
    return head + meta(start) + box(b"mdat", *bodies) + more


BLOCK = exif().tobytes()
ITEM = struct.pack(">I", 6) + BLOCK
CODED = (b"hvc1", b"", bytes(range(256)) * 4, 1)
MIME = b"application/rdf+xml\0"
HEIC = heic([CODED, (b"Exif", b"", ITEM, 2), (b"mime", MIME, XMP, 1)])
