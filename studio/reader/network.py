"""The network that is trained: one small encoder of the BERT family, with a head a question (PyTorch).

Sizes as published for all-MiniLM-L6-v2: 6 layers, 384 wide, 12 heads, 30,522 word pieces.
"""

from torch import Tensor, nn
from torch.nn import functional

from studio.reader.pieces import PLACES

DROP = 0.15
"""Share of the numbers that is left out while learning."""
LAYERS, WIDTH, HEADS, INNER, PIECES = 6, 384, 12, 1536, 30522
"""Layers, numbers of a piece, heads of a layer, numbers inside a layer, pieces that are known."""
_NAMES = {
    "embeddings.word_embeddings": "pieces", "embeddings.position_embeddings": "places",
    "embeddings.token_type_embeddings": "sides", "embeddings.LayerNorm": "norm",
}  # fmt: skip
"""Published name -> ours, of what stands before the layers."""
_LAYER_NAMES = {
    "attention.self.query": "query", "attention.self.key": "key", "attention.self.value": "value",
    "attention.output.dense": "out", "attention.output.LayerNorm": "norm_a", "intermediate.dense": "up",
    "output.dense": "down", "output.LayerNorm": "norm_b",
}  # fmt: skip
"""Published name -> ours, of the parts of a layer."""


class Layer(nn.Module):
    """One layer: attention and a feed-forward part, each followed by a norm."""

    def __init__(self) -> None:
        super().__init__()
        self.query, self.key, self.value, self.out = (nn.Linear(WIDTH, WIDTH) for _ in range(4))
        self.up, self.down = nn.Linear(WIDTH, INNER), nn.Linear(INNER, WIDTH)
        self.norm_a, self.norm_b = nn.LayerNorm(WIDTH, 1e-12), nn.LayerNorm(WIDTH, 1e-12)
        self.drop = nn.Dropout(DROP)

    def forward(self, x: Tensor, mask: Tensor) -> Tensor:
        """Return x (batch, pieces, width) after the layer; the mask (batch, 1, pieces, pieces) is 0 or far below."""
        b, n, _ = x.shape
        q, k, v = (f(x).view(b, n, HEADS, -1).transpose(1, 2) for f in (self.query, self.key, self.value))
        if self.training:
            seen = functional.scaled_dot_product_attention(q, k, v, mask.to(q.dtype))
        else:
            seen = (q @ k.transpose(-1, -2) / (WIDTH // HEADS) ** 0.5 + mask).softmax(-1) @ v
        seen = seen.transpose(1, 2).reshape(b, n, WIDTH)
        x = self.norm_a(x + self.drop(self.out(seen)))
        return self.norm_b(x + self.drop(self.down(functional.gelu(self.up(x)))))


class Network(nn.Module):
    """The encoder with its heads: labels of each piece, and how well each row that a sequence lists fits."""

    def __init__(self, labels: int, evidence: int) -> None:
        super().__init__()
        self.pieces, self.places = nn.Embedding(PIECES, WIDTH), nn.Embedding(PLACES, WIDTH)
        self.sides, self.norm = nn.Embedding(2, WIDTH), nn.LayerNorm(WIDTH, 1e-12)
        self.layers = nn.ModuleList(Layer() for _ in range(LAYERS))
        self.drop = nn.Dropout(DROP)
        self.labels = nn.Linear(WIDTH, labels)
        self.match = nn.Sequential(nn.Linear(WIDTH, 128), nn.GELU(), nn.Linear(128, 1))
        self.weigh = nn.Sequential(
            nn.Linear(evidence, 64), nn.GELU(), nn.Dropout(0.1), nn.Linear(64, 64), nn.GELU(), nn.Linear(64, 1)
        )

    def forward(self, ids: Tensor, blocks: Tensor, places: Tensor, evidence: Tensor) -> tuple[Tensor, Tensor]:
        """Return the scores of the labels and the fit of every piece.

        The talk sees itself; a row sees the talk and itself, as if it were the only one.

        Args:
            ids: pieces, (batch, pieces); 0 pads.
            blocks: 0 in the talk, the number of the row in the rows listed behind it, (batch, pieces).
            places: the place of each piece in its block, counted on from the talk, (batch, pieces).
            evidence: numbers beside the first piece of a row, 0 elsewhere, (batch, pieces, numbers).

        Returns:
            (batch, pieces, labels), and (batch, pieces): meant at the first piece of each row.
        """
        seen = (ids != 0)[:, None, :] & ((blocks[:, None, :] == 0) | (blocks[:, None, :] == blocks[:, :, None]))
        mask = (~seen)[:, None].to(self.norm.weight.dtype) * -1e4
        x = self.pieces(ids) + self.places(places) + self.sides((blocks > 0).long())
        x = self.drop(self.norm(x))
        for layer in self.layers:
            x = layer(x, mask)
        return self.labels(x), (self.match(x) + self.weigh(evidence)).squeeze(-1)

    def load_published(self, weights: dict[str, Tensor]) -> None:
        """Take the encoder's weights from those published for the base model.

        Raises:
            RuntimeError: a weight is missing or has another shape.
        """
        own = {}
        for name, value in weights.items():
            if name.startswith("encoder.layer."):
                number, rest = name.removeprefix("encoder.layer.").split(".", 1)
                module, kind = rest.rsplit(".", 1)
                own[f"layers.{number}.{_LAYER_NAMES[module]}.{kind}"] = value.float()
            elif name.rsplit(".", 1)[0] in _NAMES:
                own[f"{_NAMES[name.rsplit('.', 1)[0]]}.{name.rsplit('.', 1)[1]}"] = value.float()
        missing, strange = self.load_state_dict(own, strict=False)
        if strange or any(not name.startswith(("labels.", "match.", "weigh.")) for name in missing):
            raise RuntimeError(f"The base model does not fit: {strange or missing}.")
