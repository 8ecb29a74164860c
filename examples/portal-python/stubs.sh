#!/usr/bin/env bash
# Makes the code for the messages and calls, into stubs/. The messages of others come with their own packages.
set -euo pipefail
cd "$(dirname "$0")"
proto=../../proto
rm -rf stubs && mkdir stubs
(cd "$proto" && ls evenfare/v1/*.proto) |
  xargs "${PYTHON:-python3}" -m grpc_tools.protoc -I "$proto" --python_out=stubs --pyi_out=stubs --grpc_python_out=stubs
