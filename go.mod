module github.com/cardtell/cardtell

go 1.26.0

require (
	github.com/agnivade/levenshtein v1.2.2
	github.com/google/renameio/v2 v2.0.2
	github.com/sigurn/crc16 v0.0.0-20211026045750-20ab5afb07e3
	github.com/spf13/cobra v1.10.2
	github.com/stretchr/testify v1.12.1
	golang.org/x/exp v0.0.0-20261113113407-e3970619a1a4
	pgregory.net/rapid v1.3.0
)

require (
	github.com/inconshreveable/mousetrap v1.1.0 // indirect
	github.com/spf13/pflag v1.0.10 // indirect
	go.yaml.in/yaml/v3 v3.0.5 // indirect
)
