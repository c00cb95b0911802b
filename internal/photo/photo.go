// Package photo makes of a picture that somebody sent one that may be kept: a plain JPEG
// or PNG, upright, not larger than a page shows, with nothing in it but the picture.
//
// It knows pixels; it refuses to know where pictures come from and where they are kept.
// What it gives out was drawn anew from the pixels, so that no place, no name of a
// camera, no thumbnail of something cut away and no file behind the picture comes along.
package photo

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"io"
)

const (
	// Largest is how many bytes are looked at.
	Largest = 12 << 20
	// mostPixels bounds what is unpacked: a small file can claim to be a huge picture.
	// A PNG may take four times the memory of a JPEG.
	mostPixels, mostPixelsPNG = 60_000_000, 20_000_000
	// Edge is the longest edge of what is kept, SmallEdge that of a thumbnail.
	Edge, SmallEdge = 2000, 320
	quality         = 85
)

// The reasons for which a picture is not taken.
var (
	ErrKind   = errors.New("the picture is neither a JPEG nor a PNG")
	ErrLarge  = errors.New("the picture is too large")
	ErrBroken = errors.New("the picture is damaged")
)

// Clean reads a picture and returns it drawn anew, with its media type.
func Clean(r io.Reader) (picture []byte, kind string, err error) {
	return redraw(r, Edge)
}

// Small returns a thumbnail, always a JPEG.
func Small(r io.Reader) ([]byte, error) {
	raw, err := read(r)
	if err != nil {
		return nil, err
	}
	img, _, err := decode(raw)
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	err = jpeg.Encode(&b, flat(shrink(img, SmallEdge)), &jpeg.Options{Quality: quality})
	return b.Bytes(), err
}

func read(r io.Reader) ([]byte, error) {
	raw, err := io.ReadAll(io.LimitReader(r, Largest+1))
	if err != nil {
		return nil, err
	}
	if len(raw) > Largest {
		return nil, fmt.Errorf("%w: more than %d MB", ErrLarge, Largest>>20)
	}
	return raw, nil
}

func redraw(r io.Reader, edge int) ([]byte, string, error) {
	raw, err := read(r)
	if err != nil {
		return nil, "", err
	}
	img, format, err := decode(raw)
	if err != nil {
		return nil, "", err
	}
	var b bytes.Buffer
	if format == "png" {
		err = png.Encode(&b, shrink(img, edge))
		return b.Bytes(), "image/png", err
	}
	img = turn(shrink(img, edge), orientation(raw))
	err = jpeg.Encode(&b, img, &jpeg.Options{Quality: quality})
	return b.Bytes(), "image/jpeg", err
}

func decode(raw []byte) (image.Image, string, error) {
	var config image.Config
	var err error
	format, unpack, most := "", jpeg.Decode, mostPixels
	switch {
	case bytes.HasPrefix(raw, []byte{0xff, 0xd8, 0xff}):
		format = "jpeg"
		config, err = jpeg.DecodeConfig(bytes.NewReader(raw))
	case bytes.HasPrefix(raw, []byte("\x89PNG\r\n\x1a\n")):
		format, unpack, most = "png", png.Decode, mostPixelsPNG
		config, err = png.DecodeConfig(bytes.NewReader(raw))
	default:
		return nil, "", ErrKind
	}
	if err != nil {
		return nil, "", fmt.Errorf("%w: %v", ErrBroken, err)
	}
	if config.Width < 1 || config.Height < 1 || config.Width > most/config.Height {
		return nil, "", fmt.Errorf("%w: %d by %d points", ErrLarge, config.Width, config.Height)
	}
	img, err := unpack(bytes.NewReader(raw))
	if err != nil {
		return nil, "", fmt.Errorf("%w: %v", ErrBroken, err)
	}
	return img, format, nil
}

// shrink returns the picture with its longest edge not above a limit. Each new point is
// the mean of those that it covers; what is covered in part counts whole, which at these
// sizes nobody sees.
func shrink(img image.Image, edge int) image.Image {
	box := img.Bounds()
	w, h := box.Dx(), box.Dy()
	if max(w, h) <= edge {
		return img
	}
	nw, nh := max(1, w*edge/max(w, h)), max(1, h*edge/max(w, h))
	out := image.NewNRGBA(image.Rect(0, 0, nw, nh))
	at := reader(img)
	for y := range nh {
		y0, y1 := y*h/nh, max((y+1)*h/nh, y*h/nh+1)
		for x := range nw {
			x0, x1 := x*w/nw, max((x+1)*w/nw, x*w/nw+1)
			var r, g, b, a, n uint32
			for v := y0; v < y1; v++ {
				for u := x0; u < x1; u++ {
					c := at(box.Min.X+u, box.Min.Y+v)
					r, g, b, a, n = r+uint32(c.R), g+uint32(c.G), b+uint32(c.B), a+uint32(c.A), n+1
				}
			}
			out.SetNRGBA(x, y, color.NRGBA{uint8(r / n), uint8(g / n), uint8(b / n), uint8(a / n)})
		}
	}
	return out
}

// reader returns how a point is read, without a detour for what cameras send.
func reader(img image.Image) func(x, y int) color.NRGBA {
	if m, ok := img.(*image.YCbCr); ok {
		return func(x, y int) color.NRGBA {
			c := m.COffset(x, y)
			r, g, b := color.YCbCrToRGB(m.Y[m.YOffset(x, y)], m.Cb[c], m.Cr[c])
			return color.NRGBA{r, g, b, 255}
		}
	}
	return func(x, y int) color.NRGBA { return color.NRGBAModel.Convert(img.At(x, y)).(color.NRGBA) }
}

// flat puts a picture with clear parts on white: a JPEG has no clear parts.
func flat(img image.Image) image.Image {
	if o, ok := img.(interface{ Opaque() bool }); ok && o.Opaque() {
		return img
	}
	box := img.Bounds()
	out := image.NewNRGBA(image.Rect(0, 0, box.Dx(), box.Dy()))
	at := reader(img)
	for y := range box.Dy() {
		for x := range box.Dx() {
			c := at(box.Min.X+x, box.Min.Y+y)
			over := func(v uint8) uint8 { return uint8((uint32(v)*uint32(c.A) + 255*(255-uint32(c.A))) / 255) }
			out.SetNRGBA(x, y, color.NRGBA{over(c.R), over(c.G), over(c.B), 255})
		}
	}
	return out
}

// turn draws a picture upright. The eight ways a camera can be held are those of the tag
// Orientation of the Exif standard (JEITA CP-3451, table of tag 274, from memory).
func turn(img image.Image, way int) image.Image {
	if way < 2 || way > 8 {
		return img
	}
	box := img.Bounds()
	w, h := box.Dx(), box.Dy()
	nw, nh := w, h
	if way >= 5 {
		nw, nh = h, w
	}
	out := image.NewNRGBA(image.Rect(0, 0, nw, nh))
	at := reader(img)
	for y := range nh {
		for x := range nw {
			u, v := x, y
			switch way {
			case 2:
				u = w - 1 - x
			case 3:
				u, v = w-1-x, h-1-y
			case 4:
				v = h - 1 - y
			case 5:
				u, v = y, x
			case 6:
				u, v = y, h-1-x
			case 7:
				u, v = w-1-y, h-1-x
			case 8:
				u, v = w-1-y, x
			}
			out.SetNRGBA(x, y, at(box.Min.X+u, box.Min.Y+v))
		}
	}
	return out
}
