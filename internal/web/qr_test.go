package web

import (
	"image"
	"image/color"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// What stands on the screen is read back by zbar, which shares no code with the library
// that made it, from the drawing as a page holds it.
func TestAPhoneReadsTheCode(t *testing.T) {
	reader, err := exec.LookPath("zbarimg")
	if err != nil {
		if os.Getenv("BUTTONUP_WITHOUT_REFERENCES") == "1" {
			t.Skip("without references")
		}
		t.Fatal("zbarimg is missing: install it (Debian and its kin: sudo apt-get install zbar-tools), or set BUTTONUP_WITHOUT_REFERENCES=1")
	}
	for _, address := range []string{"https://192.168.1.20:8484/pair/7KQFM9X2", "https://a-rather-long-name-of-a-shops-computer.local:65535/pair/ABCDEFGH", "http://10.0.0.7:8484/trust"} {
		file := filepath.Join(t.TempDir(), "code.png")
		paint(t, drawQR(address), file)
		out, err := exec.Command(reader, "--quiet", "--raw", file).Output()
		if got := strings.TrimSpace(string(out)); err != nil || got != address {
			t.Errorf("%s is read as %q, %v", address, got, err)
		}
	}
}

// paint paints the squares of the drawing.
func paint(t *testing.T, drawing, file string) {
	t.Helper()
	box := regexp.MustCompile(`viewBox="0 0 (\d+) \d+"`).FindStringSubmatch(drawing)
	if box == nil {
		t.Fatal(drawing)
	}
	const scale = 6
	n, _ := strconv.Atoi(box[1])
	img := image.NewGray(image.Rect(0, 0, n*scale, n*scale))
	for i := range img.Pix {
		img.Pix[i] = 255
	}
	squares := regexp.MustCompile(`M(\d+) (\d+)h1v1h-1z`).FindAllStringSubmatch(drawing, -1)
	if len(squares) == 0 {
		t.Fatal("nothing is drawn")
	}
	for _, m := range squares {
		x, _ := strconv.Atoi(m[1])
		y, _ := strconv.Atoi(m[2])
		for i := range scale * scale {
			img.SetGray(x*scale+i%scale, y*scale+i/scale, color.Gray{})
		}
	}
	f, err := os.Create(file)
	if err != nil {
		t.Fatal(err)
	}
	if err := png.Encode(f, img); err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
}
