package list

import (
	"archive/zip"
	"encoding/xml"
	"fmt"
	"io"
	"path"
	"strings"
)

// Limits of a spreadsheet, so that a small file can't claim all memory. A list of a million rows and six columns
// unpacks to some 300 MB.
const (
	maxParts    = 10_000  // files in the archive
	maxUnpacked = 2 << 30 // bytes, all parts together
	maxRatio    = 200     // of unpacked to packed bytes, once that is more than maxFree
	maxFree     = 64 << 20
	maxColumns  = 1024
	maxRows     = 1 << 20 // what a spreadsheet has
)

// sheetCheck checks the parts of a spreadsheet. Every part is read to its end before anything is taken from it: there
// the archive's checksum is compared, and a damaged sheet must not be read as a shorter one.
type sheetCheck struct{ file string }

func (s *sheetCheck) fail(format string, args ...any) error {
	return &Error{File: s.file, Reason: fmt.Sprintf(format, args...)}
}

// archive checks sizes and checksums of all parts.
func (s *sheetCheck) archive(src io.ReaderAt, size int64) (*zip.Reader, error) {
	z, err := zip.NewReader(src, size)
	if err != nil {
		return nil, s.fail("no sound spreadsheet (%v); open it and save it again", err)
	}
	if len(z.File) > maxParts {
		return nil, s.fail("%d parts; a spreadsheet has at most %d", len(z.File), maxParts)
	}
	total := int64(0)
	for _, part := range z.File {
		n, err := s.part(part, maxUnpacked-total)
		if err != nil {
			return nil, err
		}
		total += n
		if total > maxFree && total/max(size, 1) > maxRatio {
			return nil, s.fail("unpacks to more than %d times its size; this is no list", maxRatio)
		}
	}
	return z, nil
}

// part reads one part to its end.
func (s *sheetCheck) part(part *zip.File, room int64) (int64, error) {
	if part.UncompressedSize64 > uint64(room) ||
		part.UncompressedSize64 > maxFree && part.UncompressedSize64/max(part.CompressedSize64, 1) > maxRatio {
		return 0, s.fail("part %q unpacks to %d bytes; this is no list", cutShort(part.Name), part.UncompressedSize64)
	}
	if part.Flags&1 != 0 {
		return 0, s.fail("part %q is encrypted; save the spreadsheet without a password", cutShort(part.Name))
	}
	f, err := part.Open()
	if err != nil {
		return 0, s.fail("part %q: %v; open the spreadsheet and save it again", cutShort(part.Name), err)
	}
	defer f.Close()
	n, err := io.Copy(io.Discard, io.LimitReader(f, room+1))
	switch {
	case err != nil:
		return 0, s.fail("part %q is damaged (%v); open the spreadsheet and save it again", cutShort(part.Name), err)
	case n > room:
		return 0, s.fail("unpacks to more than %d bytes; this is no list", int64(maxUnpacked))
	}
	return n, nil
}

// find returns a part by its path in the archive, whatever its case; nil where there is none.
func (s *sheetCheck) find(z *zip.Reader, name string) *zip.File {
	name = strings.TrimPrefix(path.Clean("/"+strings.ReplaceAll(name, `\`, "/")), "/")
	for _, part := range z.File {
		if strings.EqualFold(strings.ReplaceAll(part.Name, `\`, "/"), name) {
			return part
		}
	}
	return nil
}

// open opens a part.
func (s *sheetCheck) open(z *zip.Reader, name string) (io.ReadCloser, error) {
	part := s.find(z, name)
	if part == nil {
		return nil, s.fail("part %q is not there; open the spreadsheet and save it again", cutShort(name))
	}
	return part.Open()
}

// absolute makes a target that begins at the archive's root one that begins at /xl, where others do.
func absolute(target string) string {
	if strings.HasPrefix(target, "/") {
		return "../" + target
	}
	return target
}

func (s *sheetCheck) parse(z *zip.Reader, name string, v any) error {
	f, err := s.open(z, name)
	if err != nil {
		return err
	}
	defer f.Close()
	if err := xml.NewDecoder(io.LimitReader(f, maxFree)).Decode(v); err != nil {
		return s.fail("part %q is damaged (%v); open the spreadsheet and save it again", name, err)
	}
	return nil
}
