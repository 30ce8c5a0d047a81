"""Writes the trained network as the files that the program loads: ONNX with rounded weights, and what is told of it.

    python -m studio.reader.export WEIGHTS TOKENIZER OUT_FOLDER [DIGEST_OF_EXAMPLES]

Needs the extra `train`. The weights are kept as whole numbers from -127 to 127 with a scale, and are multiplied out
when they are loaded; the sums are made with real numbers. Sums of whole numbers (dynamic quantization) take about half
of the time, but round what passes between the layers, which changed what one stretch in twenty was taken for.
"""

import shutil
import sys
from datetime import date
from pathlib import Path

import numpy as np
import onnx
import torch
from onnx import TensorProto, helper, numpy_helper
from safetensors.torch import load_file

from studio.reader import about
from studio.reader.batches import NUMBERS, Real
from studio.reader.network import Network
from studio.reader.pieces import LABELS

OPSET = 17
"""Version of the ONNX operators."""
INPUTS, OUTPUTS = ("ids", "blocks", "places", "evidence"), ("labels", "fits")
"""Names of what the network takes and gives."""
LARGE = 100_000
"""Numbers from which a weight is rounded; the heads are smaller and stay as they are."""


def export(weights: Path, tokenizer: Path, out: Path, examples: str = "") -> None:
    """Write the files of the reader, and `reader.float.onnx` to compare with.

    Args:
        weights: as `studio.reader.trainer.save` wrote them.
        tokenizer: the tokenizer of the base model.
        out: the folder for the files.
        examples: the digest of what was learnt from.
    """
    network = Network(LABELS, NUMBERS)
    network.load_state_dict({name: value.float() for name, value in load_file(str(weights)).items()})
    network.eval()
    out.mkdir(parents=True, exist_ok=True)
    plain = out / "reader.float.onnx"
    _draw(network, plain)
    onnx.save(rounded(onnx.load(str(plain))), str(out / "reader.onnx"))
    parts = {name: value.numpy() for name, value in network.weigh.state_dict().items()}
    np.savez(out / "evidence.npz", **parts)
    if tokenizer.resolve() != (out / "tokenizer.json").resolve():
        shutil.copyfile(tokenizer, out / "tokenizer.json")
    about.write(out, examples, date.today())  # noqa: DTZ011


def _draw(network: Network, path: Path) -> None:
    ids = torch.ones(2, 8, dtype=torch.long)
    given = (ids, torch.zeros_like(ids), ids.cumsum(1) - 1, torch.zeros(2, 8, NUMBERS))
    dynamic = {0: "batch", 1: "pieces"}
    torch.onnx.export(
        network, given, str(path), opset_version=OPSET, input_names=list(INPUTS), output_names=list(OUTPUTS),
        dynamo=False, dynamic_axes=dict.fromkeys((*INPUTS, *OUTPUTS), dynamic),
    )  # fmt: skip
    onnx.checker.check_model(str(path))


def rounded(drawn: onnx.ModelProto) -> onnx.ModelProto:
    """Return a network whose large weights are whole numbers with a scale a column, those of pieces a scale a piece."""
    graph, nodes = drawn.graph, []
    weights = {one.name: one for one in graph.initializer}
    for node in graph.node:
        at = {"MatMul": 1, "Gather": 0}.get(node.op_type, 0)
        weight = weights.get(node.input[at]) if node.op_type in {"MatMul", "Gather"} else None
        if weight is None or np.prod(weight.dims) < LARGE:
            nodes.append(node)
            continue
        whole, scale = _whole(numpy_helper.to_array(weight), axis=0 if node.op_type == "MatMul" else 1)
        name = weight.name
        graph.initializer.remove(weight)
        graph.initializer.extend(
            [numpy_helper.from_array(whole, f"{name}.whole"), numpy_helper.from_array(scale, f"{name}.scale")]
        )
        nodes += _multiplied(node, name) if node.op_type == "MatMul" else _gathered(node, name)
    del graph.node[:]
    graph.node.extend(nodes)
    onnx.checker.check_model(drawn)
    return drawn


def _whole(weight: Real, axis: int) -> tuple[np.ndarray[tuple[int, ...], np.dtype[np.int8]], Real]:
    """Return a weight as whole numbers and the scales along an axis, (1, columns) or (rows, 1)."""
    scale = np.maximum(np.abs(weight).max(axis, keepdims=True) / 127, 1e-12).astype(np.float32)
    return np.round(weight / scale).astype(np.int8), scale


def _multiplied(node: onnx.NodeProto, name: str) -> list[onnx.NodeProto]:
    return [
        helper.make_node("Cast", [f"{name}.whole"], [f"{name}.real"], to=TensorProto.FLOAT, name=f"{name}.cast"),
        helper.make_node("Mul", [f"{name}.real", f"{name}.scale"], [name], name=f"{name}.scaled"),
        node,
    ]


def _gathered(node: onnx.NodeProto, name: str) -> list[onnx.NodeProto]:
    """Return a look-up in a table that is scaled after it, so that the table stays whole numbers in memory."""
    ids, out = node.input[1], node.output[0]
    return [
        helper.make_node("Gather", [f"{name}.whole", ids], [f"{out}.whole"], name=f"{name}.gather"),
        helper.make_node("Cast", [f"{out}.whole"], [f"{out}.real"], to=TensorProto.FLOAT, name=f"{name}.cast"),
        helper.make_node("Gather", [f"{name}.scale", ids], [f"{out}.scale"], name=f"{name}.scales"),
        helper.make_node("Mul", [f"{out}.real", f"{out}.scale"], [out], name=f"{name}.scaled"),
    ]


if __name__ == "__main__":
    export(Path(sys.argv[1]), Path(sys.argv[2]), Path(sys.argv[3]), *sys.argv[4:5])
