module github.com/cardtell/cardtell/.ci/mutate

go 1.26.0
