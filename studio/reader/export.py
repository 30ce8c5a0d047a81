"""Writes the trained network as the files that the program loads: ONNX with whole-number weights, and its weighing.

`python -m studio.reader.export WEIGHTS OUT_FOLDER`; needs the extra `train`.
"""

import sys
from pathlib import Path

import numpy as np
import onnx
import torch
from onnxruntime.quantization import QuantType, quantize_dynamic
from safetensors.torch import load_file

from studio.reader.batches import NUMBERS
from studio.reader.network import Network
from studio.reader.pieces import LABELS

OPSET = 17
INPUTS, OUTPUTS = ("ids", "blocks", "places", "evidence"), ("labels", "fits")


def export(weights: Path, out: Path) -> None:
    """Write `reader.onnx` (int8), `evidence.npz`, and `reader.float.onnx` to compare with, from trained weights."""
    network = Network(LABELS, NUMBERS)
    network.load_state_dict({name: value.float() for name, value in load_file(str(weights)).items()})
    network.eval()
    out.mkdir(parents=True, exist_ok=True)
    ids = torch.ones(2, 8, dtype=torch.long)
    given = (ids, torch.zeros_like(ids), ids.cumsum(1) - 1, torch.zeros(2, 8, NUMBERS))
    plain = out / "reader.float.onnx"
    dynamic = {0: "batch", 1: "pieces"}
    torch.onnx.export(
        network, given, str(plain), opset_version=OPSET, input_names=list(INPUTS), output_names=list(OUTPUTS),
        dynamo=False, dynamic_axes=dict.fromkeys((*INPUTS, *OUTPUTS), dynamic),
    )  # fmt: skip
    onnx.checker.check_model(str(plain))
    quantize_dynamic(str(plain), str(out / "reader.onnx"), weight_type=QuantType.QInt8, per_channel=True)
    parts = {name: value.numpy() for name, value in network.weigh.state_dict().items()}
    np.savez(out / "evidence.npz", **parts)


if __name__ == "__main__":
    export(Path(sys.argv[1]), Path(sys.argv[2]))
