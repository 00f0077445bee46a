"""Prints the codes of OpenCV's DICT_APRILTAG_36h11, one hexadecimal number a line, read from drawn markers.

Bit order: the 6 x 6 cells inside the border, row by row from the top left, white is 1, the first bit is the most
significant of 36.
"""

import cv2

DICTIONARY = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_APRILTAG_36h11)

for tag in range(DICTIONARY.bytesList.shape[0]):
    cells = cv2.aruco.generateImageMarker(DICTIONARY, tag, 64, borderBits=1)[4::8, 4::8]
    code = 0
    for cell in cells[1:7, 1:7].ravel():
        code = code << 1 | int(cell > 127)
    print(f"{code:09x}")
