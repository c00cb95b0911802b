package book

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"image"
	"image/color"
	"image/draw"
	"image/jpeg"
	_ "image/png" // for its size
)

// picture is a photo made ready for a sheet: without what the camera wrote beside it
// (where it was taken, above all), its pixels untouched.
type picture struct {
	content       []byte
	png           bool
	width, height int
	// orientation is how the camera was held, 1 to 8 as EXIF counts.
	orientation int
	sum         string
}

var errPicture = errors.New("it is neither a JPEG nor a PNG")

func newPicture(content []byte) (*picture, error) {
	config, format, err := image.DecodeConfig(bytes.NewReader(content))
	if err != nil || config.Width < 1 || config.Height < 1 {
		return nil, errPicture
	}
	p := &picture{width: config.Width, height: config.Height, orientation: 1}
	switch format {
	case "jpeg":
		p.content, p.orientation = plainJPEG(content)
		if config.ColorModel == color.CMYKModel {
			if p.content, err = inRGB(p.content); err != nil {
				return nil, err
			}
		}
	case "png":
		p.content, p.png = plainPNG(content), true
	default:
		return nil, errPicture
	}
	sum := sha256.Sum256(p.content)
	p.sum = hex.EncodeToString(sum[:])
	return p, nil
}

// inRGB draws a photo anew whose colours are those of a printing press: the book has one
// set of colours, which it names.
func inRGB(content []byte) ([]byte, error) {
	drawn, err := jpeg.Decode(bytes.NewReader(content))
	if err != nil {
		return nil, errPicture
	}
	screen := image.NewRGBA(drawn.Bounds())
	draw.Draw(screen, screen.Bounds(), drawn, drawn.Bounds().Min, draw.Src)
	var b bytes.Buffer
	if err := jpeg.Encode(&b, screen, &jpeg.Options{Quality: 92}); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

// plainJPEG leaves out every segment that tells about the picture instead of being
// it, and returns how the camera was held. What cannot be followed stays as it is.
func plainJPEG(b []byte) ([]byte, int) {
	orientation := 1
	if len(b) < 4 || b[0] != 0xFF || b[1] != 0xD8 {
		return b, orientation
	}
	out := append(make([]byte, 0, len(b)), 0xFF, 0xD8)
	for i := 2; ; {
		for i < len(b) && b[i] == 0xFF && i+1 < len(b) && b[i+1] == 0xFF {
			i++ // fill bytes
		}
		if i+4 > len(b) || b[i] != 0xFF {
			return b, orientation
		}
		marker := b[i+1]
		size := int(binary.BigEndian.Uint16(b[i+2:]))
		if size < 2 || i+2+size > len(b) {
			return b, orientation
		}
		segment := b[i : i+2+size]
		i += 2 + size
		switch {
		case marker == 0xDA: // the scan: the rest is the picture, up to its end mark
			rest := b[i:]
			if end := bytes.LastIndex(rest, []byte{0xFF, 0xD9}); end >= 0 {
				rest = rest[:end+2] // some cameras append a second picture
			}
			return append(append(out, segment...), rest...), orientation
		case marker == 0xE1:
			if o := exifOrientation(segment[4:]); o != 0 {
				orientation = o
			}
		case marker >= 0xE3 && marker <= 0xED, marker == 0xEF, marker == 0xFE:
			// what applications and people wrote
		default:
			out = append(out, segment...)
		}
	}
}

// exifOrientation finds the one tag in EXIF data; 0 for none.
//
// Source: TIFF 6.0, section 2 (header, IFD entry) and EXIF tag 274; from memory.
func exifOrientation(b []byte) int {
	b, ok := bytes.CutPrefix(b, []byte("Exif\x00\x00"))
	if !ok || len(b) < 8 {
		return 0
	}
	var order binary.ByteOrder = binary.LittleEndian
	switch string(b[:2]) {
	case "II":
	case "MM":
		order = binary.BigEndian
	default:
		return 0
	}
	at := int(order.Uint32(b[4:]))
	if at < 8 || at+2 > len(b) {
		return 0
	}
	n := int(order.Uint16(b[at:]))
	for i := range n {
		e := at + 2 + 12*i
		if e+12 > len(b) {
			return 0
		}
		if order.Uint16(b[e:]) == 274 {
			if o := int(order.Uint16(b[e+8:])); o >= 1 && o <= 8 {
				return o
			}
			return 0
		}
	}
	return 0
}

// plainPNG leaves out text, time and EXIF chunks.
func plainPNG(b []byte) []byte {
	if len(b) < 8 {
		return b
	}
	out := append(make([]byte, 0, len(b)), b[:8]...)
	for i := 8; i+12 <= len(b); {
		size := int(binary.BigEndian.Uint32(b[i:]))
		if size < 0 || i+12+size > len(b) {
			return b
		}
		switch string(b[i+4 : i+8]) {
		case "tEXt", "zTXt", "iTXt", "tIME", "eXIf":
		default:
			out = append(out, b[i:i+12+size]...)
		}
		i += 12 + size
	}
	return out
}

// sideways says whether width and height change places when it is turned.
func (p *picture) sideways() bool { return p.orientation >= 5 }

// fit returns the size at which it fills a width without being higher than most.
func (p *picture) fit(width, most float64) (w, h float64) {
	ratio := float64(p.height) / float64(p.width)
	if p.sideways() {
		ratio = 1 / ratio
	}
	w, h = width, width*ratio
	if h > most {
		w, h = most/ratio, most
	}
	return w, h
}

// turn is the matrix that turns the unit square as the camera was held.
func (p *picture) turn() [6]float64 {
	switch p.orientation {
	case 2:
		return [6]float64{-1, 0, 0, 1, 1, 0}
	case 3:
		return [6]float64{-1, 0, 0, -1, 1, 1}
	case 4:
		return [6]float64{1, 0, 0, -1, 0, 1}
	case 5:
		return [6]float64{0, -1, -1, 0, 1, 1}
	case 6:
		return [6]float64{0, -1, 1, 0, 0, 1}
	case 7:
		return [6]float64{0, 1, 1, 0, 0, 0}
	case 8:
		return [6]float64{0, 1, -1, 0, 1, 0}
	}
	return [6]float64{1, 0, 0, 1, 0, 0}
}
