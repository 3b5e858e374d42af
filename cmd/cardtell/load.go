package main

import (
	"fmt"
	"io"
	"io/fs"
	"sync"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/rank"
	"github.com/cardtell/cardtell/formats/site"
)

// maxDefinitions is how large a definition file may be, in bytes. The built-in catalogue has some 20,000.
const maxDefinitions = 1 << 22

// tables are what is known without any file, made when they are first asked for. A program that answers one question
// after the other keeps them.
type tables struct {
	catalogue func() formats.Catalogue
	ranker    func() (*rank.Ranker, error)
}

func newTables() tables {
	catalogue := sync.OnceValue(formats.Builtin)
	return tables{catalogue, sync.OnceValues(func() (*rank.Ranker, error) { return rank.New(catalogue()) })}
}

// catalogue returns the built-in formats and those of every --formats FILE.
func (a *app) catalogue() (formats.Catalogue, error) {
	cat := a.tables.catalogue()
	for _, name := range a.formats {
		text, err := a.readSmall(name, maxDefinitions)
		if err != nil {
			return cat, err
		}
		more, err := formats.ParseDefinitions(name, text)
		if err != nil {
			return cat, err
		}
		for i := range more {
			if own := cat.Find(more[i].ID); len(own) > 0 && (i == 0 || more[i-1].ID != more[i].ID) {
				a.remark("%s: format %s takes the place of the one that was known by that name", name, more[i].ID)
			}
		}
		if cat, err = cat.With(more); err != nil {
			return cat, err
		}
	}
	a.cat = cat
	return cat, nil
}

// known returns the formats, and the site of --site FILE; the zero Site where there is none.
func (a *app) known() (cat formats.Catalogue, s site.Site, err error) {
	if cat, err = a.catalogue(); err == nil {
		s, err = a.siteFile(cat)
	}
	return cat, s, err
}

// siteFile reads --site FILE; the zero Site where there is none.
func (a *app) siteFile(cat formats.Catalogue) (site.Site, error) {
	if a.site == "" {
		return site.Site{}, nil
	}
	text, err := a.readSmall(a.site, site.MaxSize)
	if err != nil {
		return site.Site{}, err
	}
	s, err := site.Parse(a.site, text, cat)
	a.doors = s.Doors
	return s, err
}

func (a *app) readSmall(name string, limit int64) ([]byte, error) {
	f, err := a.open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	text, err := io.ReadAll(io.LimitReader(f, limit+1))
	if err != nil {
		return nil, err
	}
	if int64(len(text)) > limit {
		return nil, &fs.PathError{Op: "read", Path: name, Err: fmt.Errorf("more than %d bytes; is it the right file?", limit)}
	}
	return text, nil
}
