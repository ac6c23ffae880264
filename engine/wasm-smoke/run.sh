#!/bin/sh
# Builds the engine for WebAssembly and inspects a job in Node: run.sh [JOB [RESULT]], RESULT being what
# `storystick inspect --format json` says of the job. Needs Node and the target wasm32-unknown-unknown.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
job=${1:-$here/../../examples/hobby-room.toml}
target=${CARGO_TARGET_DIR:-$here/target}
cargo build --release --quiet --manifest-path "$here/Cargo.toml" --target wasm32-unknown-unknown --target-dir "$target"
node "$here/smoke.mjs" "$target/wasm32-unknown-unknown/release/storystick_wasm_smoke.wasm" "$job" ${2:+"$2"}
