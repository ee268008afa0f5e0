# Two words to begin with: `make demo` and `make test`. Both install what they need where they may (see scripts/need).
.PHONY: demo test web speed check page judges pictures rooms

demo: web/dist/index.html
	scripts/need build
	cargo run --package app -- demo --out demo-out

test: web/dist/index.html
	scripts/test

# The desk's page, which the program carries inside, and its own tests on an invented desk.
web:
	scripts/web
web/dist/index.html: $(shell find web/src web/index.html -type f)
	scripts/web build

# Formatting, lints, and generated files that are current.
check:
	cargo fmt --all --check
	cargo clippy --workspace --all-targets -- -D warnings

# Independent judges of our files, kept under target/: a raw reader, a TIFF reader, numerical Python.
judges:
	scripts/judges

page:
	scripts/page

speed:
	cargo run --release --package xtask -- speed

# The README's pictures, from the demonstration box.
pictures:
	scripts/pictures

# Every room of the desk, in the light and the dark, at four sizes, to be looked at.
rooms:
	scripts/rooms
