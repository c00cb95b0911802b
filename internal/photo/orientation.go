package photo

import (
	"bytes"
	"encoding/binary"
)

// orientation reads how the camera was held out of a JPEG: the tag 274 of its Exif part,
// 1 for upright and for anything that cannot be read.
func orientation(raw []byte) int {
	for i := 2; i+4 <= len(raw) && raw[i] == 0xff; {
		marker, size := raw[i+1], int(binary.BigEndian.Uint16(raw[i+2:]))
		if marker == 0xda || size < 2 || i+2+size > len(raw) { // the picture itself begins
			return 1
		}
		if part := raw[i+4 : i+2+size]; marker == 0xe1 && bytes.HasPrefix(part, []byte("Exif\x00\x00")) {
			return tagOrientation(part[6:])
		}
		i += 2 + size
	}
	return 1
}

// tagOrientation reads the tag out of the first directory of a TIFF.
func tagOrientation(tiff []byte) int {
	const upright, tag, short = 1, 274, 3
	if len(tiff) < 8 {
		return upright
	}
	var order binary.ByteOrder = binary.LittleEndian
	if tiff[0] == 'M' {
		order = binary.BigEndian
	}
	start := int64(order.Uint32(tiff[4:]))
	if start+2 > int64(len(tiff)) {
		return upright
	}
	count := int64(order.Uint16(tiff[start:]))
	for i := range count {
		at := start + 2 + 12*i
		if at+12 > int64(len(tiff)) {
			return upright
		}
		if order.Uint16(tiff[at:]) == tag && order.Uint16(tiff[at+2:]) == short {
			if v := int(order.Uint16(tiff[at+8:])); v >= 1 && v <= 8 {
				return v
			}
			return upright
		}
	}
	return upright
}
