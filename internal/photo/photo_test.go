package photo

import (
	"bytes"
	"encoding/binary"
	"errors"
	"hash/crc32"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"testing"
)

// corner is a picture of which one corner is red, so that it shows which way is up.
func corner(w, h int) image.Image {
	img := image.NewNRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			c := color.NRGBA{20, 20, 200, 255}
			if x < w/2 && y < h/2 {
				c = color.NRGBA{220, 10, 10, 255}
			}
			img.SetNRGBA(x, y, c)
		}
	}
	return img
}

func asJPEG(t *testing.T, img image.Image) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := jpeg.Encode(&b, img, &jpeg.Options{Quality: 95}); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

const place = "GPS 50.1234 N 8.5678 E, of Pell Street"

// withExif puts an Exif part that says how the camera was held and where into a JPEG, a
// remark, and something behind the end of the picture.
func withExif(raw []byte, way uint16) []byte {
	tiff := []byte{'I', 'I', 42, 0, 8, 0, 0, 0, 1, 0}
	tiff = binary.LittleEndian.AppendUint16(tiff, 274)
	tiff = binary.LittleEndian.AppendUint16(tiff, 3)
	tiff = binary.LittleEndian.AppendUint32(tiff, 1)
	tiff = binary.LittleEndian.AppendUint16(tiff, way)
	tiff = append(tiff, 0, 0, 0, 0, 0, 0)
	tiff = append(tiff, place...)
	part := append([]byte("Exif\x00\x00"), tiff...)
	out := []byte{0xff, 0xd8, 0xff, 0xe1}
	out = binary.BigEndian.AppendUint16(out, uint16(len(part)+2))
	out = append(out, part...)
	out = append(out, 0xff, 0xfe)
	out = binary.BigEndian.AppendUint16(out, uint16(len(place)+2))
	out = append(out, place...)
	return append(append(out, raw[2:]...), "<script>"+place+"</script>"...)
}

func isRed(c color.Color) bool {
	r, _, b, _ := c.RGBA()
	return r > 2*b
}

func TestNothingButThePictureComesThrough(t *testing.T) {
	raw := withExif(asJPEG(t, corner(64, 48)), 1)
	if !bytes.Contains(raw, []byte(place)) {
		t.Fatal("the picture to be cleaned has no place in it")
	}
	clean, kind, err := Clean(bytes.NewReader(raw))
	if err != nil || kind != "image/jpeg" {
		t.Fatal(kind, err)
	}
	for _, left := range []string{place, "Exif", "script"} {
		if bytes.Contains(clean, []byte(left)) {
			t.Errorf("%q is still in it", left)
		}
	}
	// The same picture gives the same bytes, so that one sent twice is kept once.
	if again, _, err := Clean(bytes.NewReader(raw)); err != nil || !bytes.Equal(again, clean) {
		t.Error("sent again it is another picture", err)
	}

	var b bytes.Buffer
	if err := png.Encode(&b, corner(64, 48)); err != nil {
		t.Fatal(err)
	}
	text := b.Bytes()
	chunk := append([]byte("tEXtComment\x00"), place...)
	said := binary.BigEndian.AppendUint32(nil, uint32(len(chunk)-4))
	said = binary.BigEndian.AppendUint32(append(said, chunk...), crc32.ChecksumIEEE(chunk))
	text = append(append(bytes.Clone(text[:33]), said...), text[33:]...)
	clean, kind, err = Clean(bytes.NewReader(text))
	if err != nil || kind != "image/png" || bytes.Contains(clean, []byte(place)) {
		t.Errorf("%s %v", kind, err)
	}
}

// The red corner is at the upper left of what the camera recorded; the table of the
// standard says where row 0 and column 0 are to be shown.
func TestPicturesStandUpright(t *testing.T) {
	for way, want := range map[uint16]struct{ right, low, tall bool }{
		1: {}, 2: {right: true}, 3: {right: true, low: true}, 4: {low: true},
		5: {tall: true}, 6: {right: true, tall: true}, 7: {right: true, low: true, tall: true}, 8: {low: true, tall: true},
		0: {}, 9: {},
	} {
		clean, _, err := Clean(bytes.NewReader(withExif(asJPEG(t, corner(64, 48)), way)))
		if err != nil {
			t.Fatal(err)
		}
		img, err := jpeg.Decode(bytes.NewReader(clean))
		if err != nil {
			t.Fatal(err)
		}
		w, h := img.Bounds().Dx(), img.Bounds().Dy()
		if (h > w) != want.tall {
			t.Errorf("held %d: %d by %d", way, w, h)
		}
		x, y := w/4, h/4
		if want.right {
			x = w * 3 / 4
		}
		if want.low {
			y = h * 3 / 4
		}
		if !isRed(img.At(x, y)) || isRed(img.At(w-1-x, h-1-y)) {
			t.Errorf("held %d: the red corner is elsewhere", way)
		}
	}
}

func TestLargePicturesAreShrunk(t *testing.T) {
	raw := asJPEG(t, corner(3000, 1500))
	clean, _, err := Clean(bytes.NewReader(raw))
	if err != nil {
		t.Fatal(err)
	}
	if c, err := jpeg.DecodeConfig(bytes.NewReader(clean)); err != nil || c.Width != Edge || c.Height != Edge/2 {
		t.Errorf("%+v %v", c, err)
	}
	small, err := Small(bytes.NewReader(clean))
	if err != nil {
		t.Fatal(err)
	}
	img, err := jpeg.Decode(bytes.NewReader(small))
	if err != nil || img.Bounds().Dx() != SmallEdge {
		t.Fatal(img.Bounds(), err)
	}
	if !isRed(img.At(20, 20)) || isRed(img.At(300, 150)) {
		t.Error("the thumbnail shows something else")
	}
}

func TestWhatIsNoPictureIsNotTaken(t *testing.T) {
	good := asJPEG(t, corner(64, 48))
	var b bytes.Buffer
	if err := png.Encode(&b, corner(4, 4)); err != nil {
		t.Fatal(err)
	}
	bomb := b.Bytes()
	binary.BigEndian.PutUint32(bomb[16:], 100_000) // the width it claims
	binary.BigEndian.PutUint32(bomb[20:], 100_000)
	binary.BigEndian.PutUint32(bomb[29:], crc32.ChecksumIEEE(bomb[12:29]))
	for name, c := range map[string]struct {
		raw  []byte
		want error
	}{
		"nothing":   {nil, ErrKind},
		"a page":    {[]byte("<html><script>alert(1)</script>"), ErrKind},
		"a drawing": {[]byte(`<svg xmlns="http://www.w3.org/2000/svg"/>`), ErrKind},
		"a GIF":     {[]byte("GIF89a......"), ErrKind},
		"cut short": {good[:len(good)/2], ErrBroken},
		"a bomb":    {bomb, ErrLarge},
		"too much":  {append(bytes.Clone(good), make([]byte, Largest)...), ErrLarge},
	} {
		if _, _, err := Clean(bytes.NewReader(c.raw)); !errors.Is(err, c.want) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func FuzzOrientation(f *testing.F) {
	f.Add([]byte{0xff, 0xd8, 0xff, 0xe1, 0, 20, 'E', 'x', 'i', 'f', 0, 0, 'M', 'M', 0, 42, 0, 0, 0, 8, 0, 1})
	f.Fuzz(func(t *testing.T, raw []byte) {
		if way := orientation(raw); way < 1 || way > 8 {
			t.Errorf("%d", way)
		}
	})
}
