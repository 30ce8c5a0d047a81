"""The network that is trained: one small encoder of the BERT family, with a head a question (PyTorch).

Sizes as published for all-MiniLM-L6-v2: 6 layers, 384 wide, 12 heads, 30,522 word pieces.
"""

import torch
from torch import Tensor, nn
from torch.nn import functional

LAYERS, WIDTH, HEADS, INNER, PIECES, PLACES = 6, 384, 12, 1536, 30522, 512
_NAMES = {
    "embeddings.word_embeddings": "pieces", "embeddings.position_embeddings": "places",
    "embeddings.token_type_embeddings": "sides", "embeddings.LayerNorm": "norm",
}  # fmt: skip
_LAYER_NAMES = {
    "attention.self.query": "query", "attention.self.key": "key", "attention.self.value": "value",
    "attention.output.dense": "out", "attention.output.LayerNorm": "norm_a", "intermediate.dense": "up",
    "output.dense": "down", "output.LayerNorm": "norm_b",
}  # fmt: skip


class Layer(nn.Module):
    """One layer: attention and a feed-forward part, each followed by a norm."""

    def __init__(self) -> None:
        super().__init__()
        self.query, self.key, self.value, self.out = (nn.Linear(WIDTH, WIDTH) for _ in range(4))
        self.up, self.down = nn.Linear(WIDTH, INNER), nn.Linear(INNER, WIDTH)
        self.norm_a, self.norm_b = nn.LayerNorm(WIDTH, 1e-12), nn.LayerNorm(WIDTH, 1e-12)
        self.drop = nn.Dropout(0.1)

    def forward(self, x: Tensor, mask: Tensor) -> Tensor:
        """Return x (batch, pieces, width) after the layer; the mask (batch, 1, 1, pieces) is 0 or far below."""
        b, n, _ = x.shape
        q, k, v = (f(x).view(b, n, HEADS, -1).transpose(1, 2) for f in (self.query, self.key, self.value))
        weights = (q @ k.transpose(-1, -2) / (WIDTH // HEADS) ** 0.5 + mask).softmax(-1)
        seen = (weights @ v).transpose(1, 2).reshape(b, n, WIDTH)
        x = self.norm_a(x + self.drop(self.out(seen)))
        return self.norm_b(x + self.drop(self.down(functional.gelu(self.up(x)))))


class Network(nn.Module):
    """The encoder with its heads."""

    def __init__(self, tags: int, kinds: int, flags: int, evidence: int) -> None:
        super().__init__()
        self.pieces, self.places = nn.Embedding(PIECES, WIDTH), nn.Embedding(PLACES, WIDTH)
        self.sides, self.norm = nn.Embedding(2, WIDTH), nn.LayerNorm(WIDTH, 1e-12)
        self.layers = nn.ModuleList(Layer() for _ in range(LAYERS))
        self.drop = nn.Dropout(0.1)
        self.words = nn.Linear(WIDTH, tags + kinds + 2 + flags)
        self.match = nn.Sequential(nn.Linear(WIDTH + evidence, 128), nn.GELU(), nn.Linear(128, 1))

    def encode(self, ids: Tensor, sides: Tensor) -> Tensor:
        """Return (batch, pieces, width) for ids (0 pads) and sides (0 the talk, 1 the row), both (batch, pieces)."""
        mask = (ids == 0)[:, None, None, :] * -1e4
        x = self.pieces(ids) + self.places(torch.arange(ids.shape[1], device=ids.device)) + self.sides(sides)
        x = self.drop(self.norm(x))
        for layer in self.layers:
            x = layer(x, mask)
        return x

    def forward(self, ids: Tensor, sides: Tensor, evidence: Tensor) -> tuple[Tensor, Tensor]:
        """Return labels of every piece (batch, pieces, labels), and how well each sequence's row fits (batch,)."""
        x = self.encode(ids, sides)
        return self.words(x), self.match(torch.cat([x[:, 0], evidence], -1)).squeeze(-1)

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
        if strange or any(not name.startswith(("words.", "match.")) for name in missing):
            raise RuntimeError(f"The base model does not fit: {strange or missing}.")
