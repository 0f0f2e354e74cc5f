"""Writes captures of a diagnostic bus, byte by byte: pcap 2.4 (draft-ietf-opsawg-pcap), LINKTYPE_CAN_SOCKETCAN as tcpdump.org lists it,
ISO 15765-2 frames and service 01 from memory. An engine that idles at 800 rpm (0C80), 90 C (82), 2.5 g/s (00FA)."""
import struct
import sys

SPEED, COOLANT, AIR = b"\x0c\x0c\x80", b"\x05\x82", b"\x10\x00\xfa"


def frames(message):
    """ISO 15765-2: one frame, or a first and consecutive ones."""
    if len(message) <= 7:
        return [(bytes([len(message)]) + message).ljust(8, b"\xcc")]
    parts = [bytes([0x10 | len(message) >> 8, len(message) & 255]) + message[:6]]
    for number, at in enumerate(range(6, len(message), 7), 1):
        parts.append((bytes([0x20 | number & 15]) + message[at : at + 7]).ljust(8, b"\xcc"))
    return parts


class Capture:
    def __init__(self, order="<", magic=0xA1B2C3D4, link=227, nano=False):
        self.order, self.nano, self.time = order, nano, 1_700_000_000.0
        self.bytes = struct.pack(order + "IHHiIII", magic, 2, 4, 0, 0, 65535, link)

    def frame(self, identifier, data):
        self.time += 0.001
        part = int((self.time % 1) * (1e9 if self.nano else 1e6))
        packet = struct.pack(">IB3x", identifier, len(data)) + data
        self.bytes += struct.pack(self.order + "IIII", int(self.time), part, len(packet), len(packet)) + packet

    def message(self, identifier, message):
        for data in frames(message):
            self.frame(identifier, data)


def idle(capture, answer, request):
    """Five answers a second for 25 s; all three readings in one answer of two frames."""
    for turn in range(125):
        capture.time = 1_700_000_000.0 + 0.2 * turn
        capture.frame(request, b"\x04\x01\x0c\x05\x10\xcc\xcc\xcc")
        capture.message(answer, b"\x41" + SPEED + COOLANT + AIR)
        capture.message(answer + 1, b"\x41\x0c\x20\x00")  # another computer says something else
        broken = frames(b"\x41\x0c\xff\xff" + COOLANT + AIR + b"\x0d\x50\x0f\x80\x04\x20")
        capture.frame(answer, broken[0])
        capture.frame(answer, broken[2])  # out of order: left out whole
        capture.frame(answer, broken[1])
        capture.message(answer, b"\x41\xa6\x00\x01\x02\x03")  # unknown: left out
        capture.message(answer, b"\x7f\x01\x12")  # refused


def write(name, data):
    with open(f"{sys.argv[1]}/{name}.pcap", "wb") as file:
        file.write(data)


for name, settings in {
    "low": {},
    "high": {"order": ">"},
    "nano": {"magic": 0xA1B23C4D, "nano": True},
}.items():
    capture = Capture(**settings)
    idle(capture, 0x7E8, 0x7DF)
    write(name, capture.bytes)
    if name == "low":
        write("cut", capture.bytes[:-5])
        write("huge", capture.bytes + struct.pack("<IIII", 0, 0, 0xFFFFFFFF, 0xFFFFFFFF) + bytes(16))
capture = Capture()
idle(capture, 0x98DAF110, 0x98DB33F1)
write("long", capture.bytes)
write("ethernet", Capture(link=1).bytes)
write("silent", Capture().bytes)
write("ng", struct.pack("<IIIHHq", 0x0A0D0D0A, 28, 0x1A2B3C4D, 1, 0, -1) + struct.pack("<I", 28))
