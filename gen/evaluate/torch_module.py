"""PyTorch modules, recognised without importing PyTorch."""

from __future__ import annotations

import sys
from collections.abc import Callable
from typing import Any


def is_module(thing: object) -> bool:
    """Whether this is a PyTorch module; without PyTorch in memory nothing can be one."""
    torch = sys.modules.get("torch")
    return torch is not None and isinstance(thing, torch.nn.Module)


def asked(module: Any) -> tuple[Callable[[Any], object], str]:
    """How a module is asked, and that in words.

    It is handed a tensor on its own device, of its own floating type, without gradients,
    and in evaluation mode: with dropout and batch statistics as they are in use. The mode
    that each of its parts was in is put back.

    Parameters
    ----------
    module
        A `torch.nn.Module`.
    """
    torch: Any = sys.modules["torch"]
    training = any(part.training for part in module.modules())

    def ask(handed: Any) -> object:
        like = next(iter([*module.parameters(), *module.buffers()]), None)
        tensor = torch.from_numpy(handed)
        if like is not None:
            tensor = tensor.to(like.device)
            if like.is_floating_point() and tensor.is_floating_point():
                tensor = tensor.to(like.dtype)
        modes = [(part, part.training) for part in module.modules()]
        module.eval()
        try:
            with torch.no_grad():
                answers = module(tensor)
        finally:
            for part, mode in modes:
                part.training = mode
        if isinstance(answers, torch.Tensor) and answers.dtype in (torch.bfloat16, torch.float16):
            return answers.float()  # numpy knows no bfloat16
        return answers

    how = f"{type(module).__name__}, a PyTorch module"
    if training:
        how += ", asked in evaluation mode, though it was left in training mode"
    return ask, how
