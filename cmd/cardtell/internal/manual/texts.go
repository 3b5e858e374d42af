//go:build !js

package manual

import "embed"

// topics are pages about what several commands share: a line that names each, a blank one, the page.
//
//go:embed topics
var topics embed.FS

// pages are what commands say of themselves, by how they are called: a line that names each, a blank one, what it is
// for, and behind a line of its own the examples.
//
//go:embed commands
var pages embed.FS
