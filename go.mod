module github.com/cardtell/cardtell

go 1.26.0

require (
	github.com/spf13/cobra v1.10.2
	golang.org/x/exp v0.0.0-20261113113407-e3970619a1a4
)

require (
	github.com/inconshreveable/mousetrap v1.1.0 // indirect
	github.com/spf13/pflag v1.0.10 // indirect
)
