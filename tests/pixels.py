"""Prints the colors of a PNG image (8 bits a channel, not interlaced), #rrggbb, at the places named.

usage: pixels.py IMAGE.png X,Y...
"""

import struct
import sys
import zlib


def read(path):
    with open(path, "rb") as file:
        data = file.read()
    at, packed, header = 8, b"", None
    while at < len(data):
        length, kind = struct.unpack(">I4s", data[at:at + 8])
        if kind == b"IHDR":
            header = struct.unpack(">IIBBBBB", data[at + 8:at + 8 + length])
        elif kind == b"IDAT":
            packed += data[at + 8:at + 8 + length]
        at += 12 + length
    width, height, depth, color, _, _, interlaced = header
    if depth != 8 or color not in (2, 6) or interlaced:
        raise SystemExit("pixels.py: an image of another kind")
    size = 3 if color == 2 else 4
    raw, rows, above = zlib.decompress(packed), [], bytes(width * size)
    for y in range(height):
        start = y * (width * size + 1)
        how, line = raw[start], bytearray(raw[start + 1:start + 1 + width * size])
        for i, byte in enumerate(line):
            left = line[i - size] if i >= size else 0
            corner = above[i - size] if i >= size else 0
            if how == 4:
                guess = left + above[i] - corner
                near = min((abs(guess - left), 0, left), (abs(guess - above[i]), 1, above[i]),
                           (abs(guess - corner), 2, corner))[2]
            else:
                near = (0, left, above[i], (left + above[i]) // 2)[how]
            line[i] = (byte + near) & 255
        rows.append(line)
        above = line
    return rows, size


def main(path, *places):
    rows, size = read(path)
    for place in places:
        x, y = (int(float(part)) for part in place.split(","))
        print("#" + rows[y][x * size:x * size + 3].hex())


main(*sys.argv[1:])
