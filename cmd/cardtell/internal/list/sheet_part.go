package list

import (
	"archive/zip"
	"encoding/xml"
	"io"
)

// partReader reads the part of a spreadsheet that has its rows, as it streams by.
type partReader struct {
	check    *sheetCheck
	tape     *tape
	line     int   // of the row given last
	ended    bool  // there are no more rows
	width    int   // rows have this many cells at least
	size     int64 // of the file
	unpacked int64 // of the part
	told     int64 // of size
	progress Progress
	row      Row
}

// openPart begins to read a part, which is closed with the list.
func (r *Reader) openPart(check *sheetCheck, z *zip.Reader, name string, progress Progress) (p partReader, err error) {
	f, err := check.open(z, name)
	if err != nil {
		return p, err
	}
	r.closers = append(r.closers, f.Close)
	p = partReader{check: check, tape: newTape(f), progress: progress}
	p.unpacked = int64(check.find(z, name).UncompressedSize64)
	if r.before != nil {
		p.size = r.before.Size()
	}
	return p, nil
}

// token returns the next token, and forgets the bytes of those before it.
func (p *partReader) token() (xml.Token, error) {
	p.tape.cut()
	t, err := p.tape.dec.RawToken()
	if err != nil {
		return nil, p.damaged(err)
	}
	return t, nil
}

func (p *partReader) damaged(err error) error {
	if err == io.EOF { //nolint:errorlint // as the decoder returns it
		err = io.ErrUnexpectedEOF
	}
	return p.check.fail("the sheet is damaged after row %d (%v); open the spreadsheet and save it again", p.line, err)
}

func (p *partReader) fit(width int) { p.width = width }

// whole returns the row, which the first one makes as wide as itself.
func (p *partReader) whole() *Row {
	if p.line%1024 == 0 {
		p.tell()
	}
	if p.width == 0 {
		p.width = p.row.Len()
	}
	p.row.pad(p.width)
	return &p.row
}

// end says that there are no more rows.
func (p *partReader) end() {
	p.ended = true
	p.tell()
}

// tell tells of the part of the file that was read since it was told of before.
func (p *partReader) tell() {
	if p.progress == nil {
		return
	}
	done := int64(float64(p.size) * min(float64(p.tape.base)/float64(max(p.unpacked, 1)), 1))
	p.progress(done-p.told, p.size)
	p.told = done
}
