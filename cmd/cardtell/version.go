package main

import "runtime/debug"

// release is the version that .ci/release builds, "" in any other build.
var release string

// version is the release that this program was built from, as Go's build records it: a tag such as v1.2.0, a commit, or
// "unknown".
func version() string {
	if release != "" {
		return release
	}
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "unknown"
	}
	if v := info.Main.Version; v != "" && v != "(devel)" {
		return v
	}
	for _, s := range info.Settings {
		if s.Key == "vcs.revision" {
			return "commit " + s.Value[:min(12, len(s.Value))]
		}
	}
	return "unknown"
}
