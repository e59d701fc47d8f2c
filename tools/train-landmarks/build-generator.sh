#!/bin/sh
# Publishes the generator of training views as one self-contained file for Linux x64: OUT/AutoPlace.TrainingData.
# It needs nothing beside itself but the folder of the morphable model.
set -eu
out=${1:?usage: build-generator.sh OUT}
repository=$(CDPATH= cd -- "$(dirname -- "$0")/../.." && pwd)
dotnet publish "$repository/tools/AutoPlace.TrainingData" -c Release -r linux-x64 --self-contained -o "$out"
