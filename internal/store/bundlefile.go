package store

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"io"
)

// A bundle is a zip file of one plain shape: every entry stored as it is, its size and
// checksum written before it, one fixed date, no comments, no extra fields. There is
// one way only to write given entries, so that a reader can tell of every byte whether
// it is as it was written, also of those that other zip files leave open.
//
// Source: the zip format is PKWARE's APPNOTE, sections 4.3.7 (local header), 4.3.12
// (central directory) and 4.3.16 (its end); from memory, and the test reads and writes
// against archive/zip.

const (
	sizeLocal   = 30
	sizeCentral = 46
	sizeEnd     = 22
	// zipDate is 1 January 1980, the first that a zip file can tell.
	zipDate = 1<<5 | 1
	// largestZip is what the plain form can hold.
	largestZip = 1<<32 - 1
)

// entry is one file in a bundle.
type entry struct {
	name   string
	size   int64
	crc    uint32
	offset int64 // of its local header
}

func (e entry) data() int64 { return e.offset + sizeLocal + int64(len(e.name)) }
func (e entry) end() int64  { return e.data() + e.size }

func (e entry) local() []byte {
	b := make([]byte, 0, sizeLocal+len(e.name))
	b = append(b, "PK\x03\x04"...)
	b = e.common(b)
	b = binary.LittleEndian.AppendUint16(b, uint16(len(e.name)))
	b = binary.LittleEndian.AppendUint16(b, 0)
	return append(b, e.name...)
}

func (e entry) common(b []byte) []byte {
	b = binary.LittleEndian.AppendUint16(b, 20)    // version needed
	b = binary.LittleEndian.AppendUint16(b, 0x800) // names are UTF-8
	b = binary.LittleEndian.AppendUint16(b, 0)     // stored
	b = binary.LittleEndian.AppendUint16(b, 0)     // midnight
	b = binary.LittleEndian.AppendUint16(b, zipDate)
	b = binary.LittleEndian.AppendUint32(b, e.crc)
	b = binary.LittleEndian.AppendUint32(b, uint32(e.size))
	return binary.LittleEndian.AppendUint32(b, uint32(e.size))
}

func (e entry) central() []byte {
	b := make([]byte, 0, sizeCentral+len(e.name))
	b = append(b, "PK\x01\x02"...)
	b = binary.LittleEndian.AppendUint16(b, 20) // version made by
	b = e.common(b)
	b = binary.LittleEndian.AppendUint16(b, uint16(len(e.name)))
	b = append(b, make([]byte, 12)...) // no extra, no comment, disk 0, attributes 0
	b = binary.LittleEndian.AppendUint32(b, uint32(e.offset))
	return append(b, e.name...)
}

func endOf(entries []entry) []byte {
	at, size := int64(0), 0
	for _, e := range entries {
		at = e.end()
		size += sizeCentral + len(e.name)
	}
	b := append(make([]byte, 0, sizeEnd), "PK\x05\x06\x00\x00\x00\x00"...)
	b = binary.LittleEndian.AppendUint16(b, uint16(len(entries)))
	b = binary.LittleEndian.AppendUint16(b, uint16(len(entries)))
	b = binary.LittleEndian.AppendUint32(b, uint32(size))
	b = binary.LittleEndian.AppendUint32(b, uint32(at))
	return binary.LittleEndian.AppendUint16(b, 0)
}

// bundleWriter writes a bundle from front to back.
type bundleWriter struct {
	w       io.Writer
	at      int64
	entries []entry
}

func (b *bundleWriter) add(name string, content []byte) error {
	e := entry{name: name, size: int64(len(content)), crc: crc32.ChecksumIEEE(content), offset: b.at}
	if e.end() > largestZip || len(b.entries) > 60_000 {
		return refuse(ErrTooLarge, "", "the job is too large for one file")
	}
	if _, err := b.w.Write(e.local()); err != nil {
		return err
	}
	if _, err := b.w.Write(content); err != nil {
		return err
	}
	b.at = e.end()
	b.entries = append(b.entries, e)
	return nil
}

func (b *bundleWriter) close() error {
	for _, e := range b.entries {
		if _, err := b.w.Write(e.central()); err != nil {
			return err
		}
	}
	_, err := b.w.Write(endOf(b.entries))
	return err
}

// bundleReader reads a bundle, also one that is damaged.
type bundleReader struct {
	r       io.ReaderAt
	size    int64
	entries []entry
	// wrong are places of the file's own frame that are not as they were written.
	wrong []Damage
}

// readBundle finds the entries from the front and from the end; one of the two is
// enough.
func readBundle(r io.ReaderAt, size int64) (*bundleReader, error) {
	b := &bundleReader{r: r, size: size}
	front, frontWhole := b.fromFront()
	back, backWhole := b.fromEnd()
	switch {
	case backWhole:
		b.entries = back
	case frontWhole:
		b.entries = front
	default:
		return nil, refuse(ErrDamaged, "use another copy", "the file is no bundle of Buttonup, or too much of it is lost")
	}
	b.checkFrame()
	return b, nil
}

func (b *bundleReader) read(at, n int64) []byte {
	if at < 0 || n < 0 || at+n > b.size {
		return nil
	}
	buf := make([]byte, n)
	if _, err := b.r.ReadAt(buf, at); err != nil {
		return nil
	}
	return buf
}

// fromFront follows the local headers until the table of contents begins.
func (b *bundleReader) fromFront() (list []entry, whole bool) {
	for at := int64(0); ; {
		h := b.read(at, sizeLocal)
		if h == nil || len(list) > 65_000 {
			return list, false
		}
		if string(h[:4]) != "PK\x03\x04" {
			// What follows the last entry has a length that its entries give, whether it
			// can be read or not.
			rest := int64(sizeEnd)
			for _, e := range list {
				rest += sizeCentral + int64(len(e.name))
			}
			return list, len(list) > 0 && at+rest == b.size
		}
		name := b.read(at+sizeLocal, int64(binary.LittleEndian.Uint16(h[26:])))
		if name == nil {
			return list, false
		}
		e := entry{name: string(name), size: int64(binary.LittleEndian.Uint32(h[18:])), crc: binary.LittleEndian.Uint32(h[14:]), offset: at}
		if e.end() > b.size {
			return list, false
		}
		list = append(list, e)
		at = e.end()
	}
}

// fromEnd reads the table of contents.
func (b *bundleReader) fromEnd() (list []entry, whole bool) {
	end := b.read(b.size-sizeEnd, sizeEnd)
	if end == nil || string(end[:4]) != "PK\x05\x06" {
		return nil, false
	}
	n, at := int(binary.LittleEndian.Uint16(end[10:])), int64(binary.LittleEndian.Uint32(end[16:]))
	for range n {
		h := b.read(at, sizeCentral)
		if h == nil || string(h[:4]) != "PK\x01\x02" {
			return list, false
		}
		name := b.read(at+sizeCentral, int64(binary.LittleEndian.Uint16(h[28:])))
		if name == nil {
			return list, false
		}
		e := entry{name: string(name), size: int64(binary.LittleEndian.Uint32(h[20:])), crc: binary.LittleEndian.Uint32(h[16:]), offset: int64(binary.LittleEndian.Uint32(h[42:]))}
		// Entries follow one another without a gap.
		if e.end() > b.size || len(list) > 0 && list[len(list)-1].end() != e.offset {
			return list, false
		}
		list = append(list, e)
		at += sizeCentral + int64(len(name))
	}
	return list, len(list) > 0 && at == b.size-sizeEnd
}

// checkFrame holds every byte of the frame against the one way to write it.
func (b *bundleReader) checkFrame() {
	for i, e := range b.entries {
		if got := b.read(e.offset, sizeLocal+int64(len(e.name))); !bytes.Equal(got, e.local()) {
			// The checksum may be the one in the table that is wrong.
			b.wrong = append(b.wrong, Damage{What: "frame", Name: e.name, Says: fmt.Sprintf("the heading of %s in the file is not as it was written, or what the table of contents says of it", b.entries[i].name)})
		}
	}
	at := int64(0)
	if n := len(b.entries); n > 0 {
		at = b.entries[n-1].end()
	}
	for _, e := range b.entries {
		want := e.central()
		if !bytes.Equal(b.read(at, int64(len(want))), want) {
			b.wrong = append(b.wrong, Damage{What: "frame", Name: e.name, Says: fmt.Sprintf("the line of %s in the table of contents at the end of the file is not as it was written", e.name)})
		}
		at += int64(len(want))
	}
	if !bytes.Equal(b.read(at, b.size-at), endOf(b.entries)) {
		b.wrong = append(b.wrong, Damage{What: "frame", Name: "end", Says: "the end of the file is not as it was written"})
	}
}

func (b *bundleReader) content(e entry) []byte { return b.read(e.data(), e.size) }

func (b *bundleReader) find(name string) (entry, bool) {
	for _, e := range b.entries {
		if e.name == name {
			return e, true
		}
	}
	return entry{}, false
}
