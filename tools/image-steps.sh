#!/bin/sh
# What the image is made of: packages, then the build. Run in a copy of the repository.
set -eu
npm ci --ignore-scripts --no-audit --no-fund --loglevel=error
node tools/build.mjs
