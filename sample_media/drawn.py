"""The table of the sample recording, drawn: wood, a cutting mat, papers, a lino block, tools, tins, and hands.

Every picture is made at twice its size and scaled down, so that its edges are soft. Nothing is copied from anywhere.
"""

import math
import random

import numpy as np
from PIL import Image, ImageChops, ImageDraw, ImageFilter, ImageFont

CANVAS = (1920, 1080)
S = 2  # drawn this many times larger, then scaled down

CREAM, INK, SAGE, LEAF = (250, 245, 233), (39, 82, 128), (190, 203, 166), (104, 134, 90)
CHALK, STEEL, BEECH, DARK = (252, 251, 247), (176, 182, 188), (216, 172, 118), (74, 66, 60)
IVORY, GREY, SKIN, SLEEVE = (244, 234, 210), (147, 152, 156), (226, 176, 146), (196, 146, 62)


def font(size):
    return ImageFont.load_default(size * S)


def blank(width, height):
    image = Image.new("RGBA", (width * S, height * S), (0, 0, 0, 0))
    return image, ImageDraw.Draw(image)


def box(draw, x0, y0, x1, y1, fill, radius=0, outline=None, width=1):
    draw.rounded_rectangle((x0 * S, y0 * S, x1 * S, y1 * S), radius * S, fill=fill, outline=outline, width=width * S)


def line(draw, points, fill, width):
    draw.line([(x * S, y * S) for x, y in points], fill=fill, width=round(width * S), joint="curve")


def words(draw, x, y, text, size, fill=DARK):
    draw.text((x * S, y * S), text, font=font(size), fill=fill, anchor="mm")


def done(image, shadow=7):
    """Scale down, and lay a soft shadow under it."""
    pad = 24
    small = image.resize((image.width // S, image.height // S), Image.Resampling.LANCZOS)
    out = Image.new("RGBA", (small.width + 2 * pad, small.height + 2 * pad), (0, 0, 0, 0))
    dark = Image.new("RGBA", small.size, (45, 28, 14, 255))
    dark.putalpha(small.getchannel("A").point(lambda a: a * 2 // 5))
    out.paste(dark, (pad + shadow // 2, pad + shadow))
    out = out.filter(ImageFilter.GaussianBlur(shadow))
    out.alpha_composite(small, (pad, pad))
    return out


def leaf_points(x, y, length, width, turn):
    """The outline of a leaf with its stem at (x, y)."""
    side = [(t * length, width * math.sin(math.pi * t) ** 0.8 * (1 - 0.25 * t)) for t in np.linspace(0, 1, 24)]
    outline = side + [(along, -across) for along, across in reversed(side)]
    c, s = math.cos(turn), math.sin(turn)
    return [((x + a * c - b * s) * S, (y + a * s + b * c) * S) for a, b in outline]


def sprig(draw, x, y, size, turn, fill, vein=None):
    """A stem with five pairs of leaves and one at the tip."""
    c, s = math.cos(turn), math.sin(turn)
    line(draw, [(x, y), (x + size * c, y + size * s)], fill, max(1.2, size / 45))
    for step in range(5):
        at = 0.18 + 0.16 * step
        px, py = x + size * at * c, y + size * at * s
        for side in (-1, 1):
            draw.polygon(leaf_points(px, py, size * (0.4 - 0.035 * step), size * 0.06, turn + side * 0.95), fill=fill)
    tip = leaf_points(x + size * 0.86 * c, y + size * 0.86 * s, size * 0.3, size * 0.06, turn)
    draw.polygon(tip, fill=fill)
    if vein:
        line(draw, [(x, y), (x + size * 1.05 * c, y + size * 1.05 * s)], vein, max(1, size / 90))


def meadow(draw, width, height, seed=4):
    """The pattern of the Meadow Path paper: a winding path between small plants."""
    box(draw, 0, 0, width, height, SAGE)
    path = [(width * (0.5 + 0.22 * math.sin(3.2 * t * math.pi / 2)), height * t) for t in np.linspace(-0.1, 1.1, 40)]
    line(draw, path, (232, 222, 192), width / 7)
    line(draw, path, (243, 236, 214), width / 11)
    chance = random.Random(seed)
    for row in range(9):
        for column in range(8):
            x = width * (column + 0.5 + chance.uniform(-0.3, 0.3)) / 8
            y = height * (row + 0.5 + chance.uniform(-0.3, 0.3)) / 9
            on_path = abs(x - width * (0.5 + 0.22 * math.sin(3.2 * y / height * math.pi / 2))) < width / 9
            if not on_path:
                colour = chance.choice([LEAF, (131, 158, 112), (222, 186, 108), (250, 246, 230)])
                sprig(draw, x, y, width / 14, chance.uniform(-2.4, -0.7), colour)


def pad():
    image, draw = blank(452, 452)
    for edge in range(5):
        box(draw, 6 + edge, 6 + edge, 444 + edge, 444 + edge, (248 - 6 * edge, 243 - 6 * edge, 230 - 6 * edge), 2)
    sheet, pen = blank(440, 440)
    meadow(pen, 440, 440)
    image.paste(sheet, (2 * S, 2 * S))
    box(draw, 2, 2, 442, 30, (122, 104, 82))
    box(draw, 84, 160, 360, 290, CREAM, 8, (150, 160, 120), 2)
    words(draw, 222, 202, "Meadow Path", 36)
    words(draw, 222, 236, "PAPER PAD", 17, (110, 120, 90))
    words(draw, 222, 263, "24 sheets   12 x 12 in", 17, (110, 120, 90))
    return done(image, 10)


def card():
    image, draw = blank(340, 428)
    for edge in range(6, 0, -1):
        shade = 252 - 7 * edge
        box(draw, 6 + edge, 4 + edge, 328 + edge, 418 + edge, (shade, shade - 1, shade - 5), 2)
    box(draw, 4, 4, 328, 418, CHALK, 2)
    box(draw, 4, 160, 332, 262, (217, 221, 222))
    box(draw, 4, 160, 332, 164, (190, 196, 198))
    words(draw, 168, 195, "Chalk White", 32, (70, 84, 92))
    words(draw, 168, 232, "HEAVY CARD   300 gsm", 17, (100, 112, 118))
    return done(image, 10)


def base(scored=False):
    image, draw = blank(510, 330)
    box(draw, 2, 2, 508, 328, CHALK, 1, (226, 223, 214), 1)
    if scored:
        line(draw, [(256, 3), (256, 327)], (255, 255, 255), 2)
        line(draw, [(254, 3), (254, 327)], (196, 192, 182), 2)
    return done(image, 6)


def folded():
    image, draw = blank(260, 330)
    box(draw, 8, 2, 258, 328, (232, 229, 221), 1)
    box(draw, 2, 2, 254, 328, CHALK, 1, (226, 223, 214), 1)
    line(draw, [(5, 3), (5, 327)], (214, 210, 200), 3)
    return done(image, 9)


def mat():
    image, _ = blank(244, 318)
    sheet, pen = blank(240, 314)
    meadow(pen, 240, 314, 9)
    image.paste(sheet, (2 * S, 2 * S))
    return done(image, 5)


def folder():
    image, draw = blank(74, 340)
    points = [(22, 10), (40, 4), (52, 20), (60, 120), (62, 220), (54, 300), (38, 334), (20, 300), (14, 220), (16, 110)]
    draw.polygon([(x * S, y * S) for x, y in points], fill=IVORY)
    line(draw, [(30, 30), (34, 150), (34, 290)], (255, 250, 234), 7)
    line(draw, [(52, 40), (57, 150), (50, 290)], (220, 204, 170), 4)
    return done(image.filter(ImageFilter.GaussianBlur(2)), 8)


def block(state="drawn"):
    image, draw = blank(300, 430)
    box(draw, 8, 10, 298, 428, (118, 92, 66), 3)
    box(draw, 2, 2, 290, 420, GREY, 3)
    chance = random.Random(3)
    for _ in range(900):
        x, y = chance.uniform(4, 288), chance.uniform(4, 418)
        shade = chance.randint(-7, 7)
        line(draw, [(x, y), (x + 2, y)], tuple(c + shade for c in GREY), 1.5)
    if state == "drawn":
        mark = Image.new("L", image.size, 0)
        sprig(ImageDraw.Draw(mark), 146, 372, 250, -math.pi / 2 + 0.04, 255)
        inner = mark.filter(ImageFilter.MinFilter(7))
        image.paste((66, 66, 70), mask=ImageChops.subtract(mark, inner))
    else:
        box(draw, 22, 24, 270, 398, (188, 190, 190), 20)
        for cut in range(60):
            x, y = chance.uniform(30, 250), chance.uniform(34, 380)
            fill = (206, 207, 205) if cut % 2 else (168, 172, 174)
            line(draw, [(x, y), (x + 14, y + chance.uniform(-3, 3))], fill, 2)
        sprig(draw, 146, 372, 250, -math.pi / 2 + 0.04, (96, 102, 108))
    return done(image, 10)


def cutter():
    image, draw = blank(70, 380)
    draw.polygon([(x * S, y * S) for x, y in [(31, 62), (28, 10), (35, 2), (42, 10), (39, 62)]], fill=STEEL)
    line(draw, [(34, 12), (34, 60)], (222, 226, 230), 2)
    box(draw, 24, 60, 46, 112, (150, 156, 162), 6)
    line(draw, [(29, 64), (29, 108)], (214, 218, 222), 3)
    draw.ellipse((10 * S, 250 * S, 60 * S, 376 * S), fill=BEECH)
    draw.polygon([(x * S, y * S) for x, y in [(22, 110), (48, 110), (59, 320), (11, 320)]], fill=BEECH)
    line(draw, [(28, 122), (23, 300)], (236, 200, 152), 6)
    line(draw, [(44, 122), (51, 310)], (186, 140, 90), 4)
    return done(image, 9)


def disc(draw, x, y, radius, fill):
    draw.ellipse(((x - radius) * S, (y - radius) * S, (x + radius) * S, (y + radius) * S), fill=fill)


def tin():
    image, draw = blank(280, 280)
    for radius, fill in ((138, (150, 156, 162)), (134, (208, 212, 216)), (124, (170, 176, 182)), (120, INK)):
        disc(draw, 140, 140, radius, fill)
    disc(draw, 140, 140, 96, CREAM)
    words(draw, 140, 112, "Harbour Blue", 24)
    words(draw, 140, 142, "MATT INK", 18, INK)
    words(draw, 140, 170, "50 ml", 16, (110, 110, 104))
    draw.arc((10 * S, 10 * S, 270 * S, 270 * S), 200, 265, fill=(238, 241, 244), width=5 * S)
    return done(image, 11)


def slab(inked=False):
    image, draw = blank(430, 340)
    box(draw, 2, 2, 428, 338, (214, 228, 230, 225), 8, (168, 190, 194), 2)
    line(draw, [(24, 60), (80, 18)], (246, 252, 252, 200), 5)
    if inked:
        box(draw, 90, 50, 340, 296, (52, 98, 146), 6)
        chance = random.Random(8)
        for _ in range(420):
            x, y = chance.uniform(92, 336), chance.uniform(54, 292)
            line(draw, [(x, y), (x + 3, y)], chance.choice([(45, 88, 134), (60, 108, 156)]), 2)
    else:
        box(draw, 120, 60, 310, 84, INK, 11)
        line(draw, [(130, 66), (298, 66)], (86, 132, 178), 3)
    return done(image, 7)


def roller():
    image, draw = blank(250, 380)
    line(draw, [(125, 190), (125, 130), (20, 130), (20, 50)], (150, 156, 162), 9)
    line(draw, [(125, 130), (230, 130), (230, 50)], (150, 156, 162), 9)
    box(draw, 30, 18, 220, 84, (46, 60, 74), 10)
    box(draw, 36, 24, 214, 76, (43, 84, 128), 8)
    line(draw, [(42, 34), (208, 34)], (96, 142, 186), 6)
    box(draw, 100, 184, 150, 214, (140, 146, 152), 5)
    box(draw, 96, 210, 154, 372, BEECH, 26)
    line(draw, [(110, 226), (110, 350)], (236, 200, 152), 8)
    line(draw, [(146, 226), (146, 350)], (186, 140, 90), 4)
    return done(image, 10)


def sheet(printed=False):
    image, draw = blank(430, 540)
    box(draw, 2, 2, 428, 538, (253, 250, 242), 1, (228, 222, 208), 1)
    if printed:
        box(draw, 82, 66, 350, 472, (226, 234, 240), 10)
        sprig(draw, 214, 430, 290, -math.pi / 2 - 0.04, INK, (226, 234, 240))
    return done(image, 6)


def gouges():
    image, draw = blank(360, 300)
    box(draw, 2, 2, 358, 298, (171, 128, 84), 10)
    box(draw, 14, 14, 346, 286, (232, 214, 184), 6)
    for at, width in ((84, 12), (180, 18), (276, 8)):
        box(draw, at - width / 2, 36, at + width / 2, 120, STEEL, 3)
        box(draw, at - 18, 112, at + 18, 226, BEECH, 16)
        line(draw, [(at - 8, 122), (at - 8, 214)], (236, 200, 152), 5)
    words(draw, 180, 256, "Little Gouge Set", 24)
    return done(image, 10)


def finished():
    image, draw = blank(330, 420)
    box(draw, 10, 4, 328, 418, (228, 224, 214), 2)
    box(draw, 2, 2, 322, 416, CHALK, 1, (224, 220, 210), 1)
    inset, pen = blank(296, 390)
    meadow(pen, 296, 390, 9)
    image.paste(inset, (14 * S, 14 * S))
    box(draw, 52, 54, 272, 366, (120, 130, 104), 1)
    box(draw, 48, 50, 268, 362, (253, 250, 242), 1)
    sprig(draw, 158, 334, 222, -math.pi / 2 + 0.03, INK, (230, 238, 244))
    return done(image, 12)


def hand(mirrored=False):
    """A forearm with a sleeve, its fingers at the top."""
    image, draw = blank(260, 1000)
    dark, light = (204, 150, 120), (238, 194, 166)
    fingers = [((84, 200), (62, 92)), ((112, 190), (104, 54)), ((140, 192), (146, 58)), ((164, 206), (182, 98))]
    for (x0, y0), (x1, y1) in fingers:
        line(draw, [(x0, y0), (x1, y1)], dark, 34)
        disc(draw, x1, y1, 17, dark)
        line(draw, [(x0 - 2, y0), (x1 - 2, y1)], SKIN, 30)
        disc(draw, x1 - 2, y1, 15, SKIN)
        box(draw, x1 - 9, y1 - 14, x1 + 5, y1 + 2, (244, 208, 190), 7)
    line(draw, [(70, 290), (36, 240), (26, 192)], dark, 36)
    disc(draw, 26, 192, 18, dark)
    line(draw, [(70, 290), (38, 240), (28, 192)], SKIN, 31)
    disc(draw, 28, 192, 15.5, SKIN)
    box(draw, 64, 172, 186, 330, SKIN, 46)
    draw.polygon([(x * S, y * S) for x, y in [(72, 290), (178, 290), (172, 470), (82, 470)]], fill=SKIN)
    line(draw, [(88, 214), (88, 300)], light, 8)
    draw.polygon([(x * S, y * S) for x, y in [(66, 440), (188, 440), (214, 1000), (44, 1000)]], fill=SLEEVE)
    box(draw, 60, 426, 194, 474, (214, 166, 84), 14)
    line(draw, [(96, 490), (84, 990)], (178, 128, 50), 5)
    line(draw, [(150, 490), (160, 990)], (210, 162, 80), 6)
    picture = done(image.filter(ImageFilter.GaussianBlur(1)), 12)
    return picture.transpose(Image.Transpose.FLIP_LEFT_RIGHT) if mirrored else picture


def wood():
    """A beech table: long soft grain, four boards, a little darker towards the corners."""
    chance = np.random.default_rng(12)
    width, height = CANVAS
    fine = Image.fromarray(chance.integers(0, 255, (height // 2, 60), dtype=np.uint8)).resize(CANVAS, 3)
    broad = Image.fromarray(chance.integers(0, 255, (40, 8), dtype=np.uint8)).resize(CANVAS, 3)
    grain = (np.asarray(fine, np.float32) - 127) * 0.05 + (np.asarray(broad, np.float32) - 127) * 0.10
    y, x = np.mgrid[0:height, 0:width].astype(np.float32)
    far = ((x / width - 0.5) ** 2 + (y / height - 0.5) ** 2) * 46
    board = (y // 280).astype(int)
    shade = np.array([0, -6, 3, -4, 1])[board] + grain - far
    shade -= np.where((y % 280 < 3) & (y > 3), 26, 0)
    colour = np.stack([shade + c for c in (221, 190, 150)], axis=-1)
    return Image.fromarray(np.clip(colour, 0, 255).astype(np.uint8))


def table():
    """The empty table: mat with a grid, a mug, an envelope, a steel rule, a jar of pencils."""
    picture = wood().convert("RGBA")
    image, draw = blank(1060, 800)
    box(draw, 2, 2, 1058, 798, (58, 112, 112), 22)
    box(draw, 26, 26, 1034, 774, None, 6, (150, 186, 178), 2)
    for step in range(1, 21):
        x, y = 26 + step * 48, 26 + step * 44
        line(draw, [(x, 26), (x, 774)], (80, 130, 128) if step % 2 else (98, 146, 142), 1)
        if y < 770:
            line(draw, [(26, y), (1034, y)], (80, 130, 128) if step % 2 else (98, 146, 142), 1)
        words(draw, x, 14, str(step), 11, (150, 186, 178))
    picture.alpha_composite(done(image, 8), (410, 130))
    picture.alpha_composite(_envelope().rotate(-12, expand=True, resample=3), (1500, 60))
    picture.alpha_composite(_rule(), (440, 950))
    picture.alpha_composite(_mug(), (30, 30))
    picture.alpha_composite(_jar(), (1690, 560))
    return picture


def _envelope():
    image, draw = blank(330, 234)
    box(draw, 2, 2, 328, 232, (206, 208, 208), 4)
    line(draw, [(4, 4), (165, 132), (326, 4)], (176, 180, 182), 4)
    line(draw, [(4, 230), (130, 108)], (190, 193, 194), 3)
    line(draw, [(326, 230), (200, 108)], (190, 193, 194), 3)
    return done(image, 7)


def _rule():
    image, draw = blank(820, 62)
    box(draw, 2, 2, 818, 60, (196, 202, 207), 3)
    line(draw, [(4, 8), (816, 8)], (226, 231, 235), 5)
    for tick in range(97):
        line(draw, [(20 + tick * 8.1, 3), (20 + tick * 8.1, 24 if tick % 8 == 0 else 13)], (84, 92, 98), 1)
    return done(image, 5)


def _mug():
    image, draw = blank(230, 200)
    box(draw, 150, 70, 226, 124, (186, 92, 66), 24)
    box(draw, 160, 86, 206, 108, (205, 172, 132), 10)
    for radius, fill in ((92, (176, 84, 58)), (86, (206, 112, 84)), (74, (150, 66, 46)), (70, (124, 78, 44))):
        disc(draw, 98, 100, radius, fill)
    disc(draw, 86, 92, 40, (140, 92, 54))
    return done(image.filter(ImageFilter.GaussianBlur(1)), 11)


def _jar():
    image, draw = blank(200, 200)
    for radius, fill in ((92, (150, 168, 160)), (84, (196, 210, 202)), (76, (92, 104, 98))):
        disc(draw, 100, 100, radius, fill)
    ends = ((72, 84), (118, 74), (96, 124), (136, 118))
    for (x, y), fill in zip(ends, ((214, 164, 60), (186, 92, 66), (84, 128, 160), (120, 148, 96)), strict=True):
        disc(draw, x, y, 17, fill)
        disc(draw, x, y, 9, (236, 208, 168))
        disc(draw, x, y, 4, DARK)
    return done(image, 10)


PICTURES = {
    "pad": pad, "card": card, "base": base, "scored": lambda: base(scored=True), "folded": folded, "mat": mat,
    "folder": folder, "block": block, "carved": lambda: block("carved"), "cutter": cutter, "tin": tin, "slab": slab,
    "inked": lambda: slab(inked=True), "roller": roller, "sheet": sheet, "print": lambda: sheet(printed=True),
    "gouges": gouges, "finished": finished, "hand": hand,
}  # fmt: skip
