package manual

import "embed"

// The page in a browser shows no help, and has no text for it.
var topics, pages embed.FS
