"""CasADi's symbolic functions as machine code that runs over many nodes at once.

A function of scalars is a straight list of operations. Written as LLVM code with every number a small vector, one pass
does `LANES` nodes; what depends on broadcast arguments alone is done once, before the loop, and what occurs twice is
written once. LLVM comes with Numba, so no compiler is needed.
"""

from __future__ import annotations

import ctypes
import struct
from typing import Any

import numpy as np
from numpy.typing import NDArray

from conewise.errors import ConewiseError
from conewise.solver.kept_code import machine_code
from conewise.solver.symbols import casadi as ca

Array = NDArray[np.float64]
_Value = tuple[str, bool]  # its name in LLVM code, and whether it is a vector

LANES = 4  # nodes a pass: one 256-bit register of doubles
_VECTOR = f"<{LANES} x double>"
_MASK = f"<{LANES} x i1>"
_TWO = {"ADD": "fadd", "SUB": "fsub", "MUL": "fmul"}
_SYMMETRIC = {"ADD", "MUL", "FMAX", "FMIN"}
_INTRINSIC = {"SQRT": "sqrt", "FABS": "fabs", "FMAX": "maxnum", "FMIN": "minnum"}
_LIBRARY = ("SIN", "COS", "TAN", "ATAN", "TANH", "EXP", "LOG")
_COMPARE = {"LE": "ole", "LT": "olt"}


class UnwrittenOperationError(ConewiseError):
    """The model uses an operation that has no machine code yet."""

    code = "unwritten-operation"
    default_hint = "Write it in solver/machine.py, or say it with operations that are there."

    def __init__(self, operation: str) -> None:
        super().__init__(f"There is no machine code for the operation {operation}.", where="solver/machine.py")


class MachineFunction:
    """A CasADi SX function over columns.

    Parameters
    ----------
    function : casadi.Function
        Of dense vectors; every output dense or with its nonzeros as the result.
    broadcast : set of int
        Arguments that are the same in every column.

    Notes
    -----
    Called with one array of shape (size, n_columns) for each argument, (size,) for broadcast ones; gives one array of
    shape (n_nonzeros, n_columns) for each output.
    """

    def __init__(self, function: Any, *, broadcast: set[int]) -> None:
        self._broadcast = broadcast
        self._sizes = [int(function.nnz_out(i)) for i in range(function.n_out())]
        self._engine, address = machine_code(_Writer(function, broadcast).text())
        n_arguments = function.n_in() + function.n_out()
        self._call = ctypes.CFUNCTYPE(None, ctypes.c_int64, *[ctypes.c_void_p] * n_arguments)(address)

    def __call__(self, *arguments: Array) -> list[Array]:
        """Evaluate."""
        n = next(a.shape[1] for i, a in enumerate(arguments) if i not in self._broadcast)
        width = -(-n // LANES) * LANES
        inputs = [
            np.ascontiguousarray(a, dtype=float) if i in self._broadcast else _padded(a, width)
            for i, a in enumerate(arguments)
        ]
        outputs = [np.empty((size, width)) for size in self._sizes]
        self._call(width, *(a.ctypes.data for a in (*inputs, *outputs)))
        return [out[:, :n] for out in outputs]

    def following(self, start: list[Array], rest: list[Array], broadcast: Array) -> Array:
        """One column after the other, each starting from the first outputs of the one before.

        Parameters
        ----------
        start : list of Array, shape (size,) each
            The first arguments of the first column; there are as many outputs, of the same sizes.
        rest : list of Array, shape (size, n_columns) each
            The arguments after them.
        broadcast : Array
            The last argument.

        Returns
        -------
        Array, shape (size, n_columns)
            The first output of every column.
        """
        now = [np.repeat(a[:, None], LANES, axis=1) for a in start]
        here = [np.empty((a.shape[0], LANES)) for a in rest]
        after = [np.empty_like(a) for a in now]
        last = np.ascontiguousarray(broadcast, dtype=float)
        addresses = [a.ctypes.data for a in (*now, *here, last, *after)]
        out = np.empty((start[0].size, rest[0].shape[1]))
        for k in range(out.shape[1]):
            for room, a in zip(here, rest, strict=True):
                room[:] = a[:, k : k + 1]
            self._call(LANES, *addresses)
            for room, a in zip(now, after, strict=True):
                room[:] = a
            out[:, k] = now[0][:, 0]
        return out


def _padded(a: Array, width: int) -> Array:
    """Columns up to a whole number of passes; the last one is repeated, so that it does no harm."""
    if a.shape[1] == width:
        return np.ascontiguousarray(a, dtype=float)
    out = np.empty((a.shape[0], width))
    out[:, : a.shape[1]] = a
    out[:, a.shape[1] :] = a[:, -1:]
    return out


def _constant(value: float) -> str:
    return f"0x{struct.unpack('>Q', struct.pack('>d', value))[0]:016X}"


def _operations() -> dict[int, str]:
    return {getattr(ca, name): name.removeprefix("OP_") for name in dir(ca) if name.startswith("OP_")}


class _Writer:
    """LLVM code of one function; `head` runs once, `body` for every pass."""

    def __init__(self, function: Any, broadcast: set[int]) -> None:
        self.function, self.broadcast = function, broadcast
        self.head: list[str] = []
        self.body: list[str] = []
        self.declared: set[str] = set()
        self.spread: dict[str, str] = {}  # scalar to the vector that repeats it
        self.loaded: dict[tuple[int, int], _Value] = {}
        self.known: dict[tuple[str | _Value, ...], _Value] = {}  # by operation and arguments
        self.count = 0

    def text(self) -> str:
        f, names = self.function, _operations()
        work: dict[int, _Value] = {}  # by place in CasADi's work vector
        for k in range(f.n_instructions()):
            operation = names[f.instruction_id(k)]
            out, into = f.instruction_output(k), f.instruction_input(k)
            if operation == "CONST":
                work[out[0]] = _constant(f.instruction_constant(k)), False
            elif operation == "INPUT":
                work[out[0]] = self._load(*into)
            elif operation == "OUTPUT":
                self._store(work[into[0]], *out)
            else:
                work[out[0]] = self._value(operation, *(work[i] for i in into))
        arguments = [f"double* noalias %in{i}" for i in range(f.n_in())]
        arguments += [f"double* noalias %out{i}" for i in range(f.n_out())]
        return "\n".join(
            [
                *sorted(self.declared),
                f"define void @run(i64 %n, {', '.join(arguments)}) {{",
                "entry:",
                *self.head,
                "br label %pass",
                "pass:",
                "%at = phi i64 [0, %entry], [%next, %pass]",
                *self.body,
                f"%next = add i64 %at, {LANES}",
                "%more = icmp slt i64 %next, %n",
                "br i1 %more, label %pass, label %done",
                "done:",
                "ret void",
                "}",
            ]
        )

    def _emit(self, code: str, *, each: bool) -> str:
        self.count += 1
        (self.body if each else self.head).append(f"%t{self.count} = {code}")
        return f"%t{self.count}"

    def _vector(self, value: str) -> str:
        if value not in self.spread:
            first = self._emit(f"insertelement {_VECTOR} poison, double {value}, i32 0", each=False)
            self.spread[value] = self._emit(
                f"shufflevector {_VECTOR} {first}, {_VECTOR} poison, <{LANES} x i32> zeroinitializer", each=False
            )
        return self.spread[value]

    def _place(self, array: str, row: int) -> str:
        start = self._emit(f"mul i64 %n, {row}", each=True)
        at = self._emit(f"add i64 {start}, %at", each=True)
        place = self._emit(f"getelementptr double, double* {array}, i64 {at}", each=True)
        return self._emit(f"bitcast double* {place} to {_VECTOR}*", each=True)

    def _load(self, argument: int, row: int) -> _Value:
        if (argument, row) not in self.loaded:
            if argument in self.broadcast:
                place = self._emit(f"getelementptr double, double* %in{argument}, i64 {row}", each=False)
                value = self._emit(f"load double, double* {place}", each=False), False
            else:
                place = self._place(f"%in{argument}", row)
                value = self._emit(f"load {_VECTOR}, {_VECTOR}* {place}, align 8", each=True), True
            self.loaded[argument, row] = value
        return self.loaded[argument, row]

    def _value(self, operation: str, *arguments: _Value) -> _Value:
        """What an operation gives; the same operation of the same values is written once.

        A division is written as the product with an inverse: derivatives divide by the same numbers again and again,
        and a division takes several times as long.
        """
        if operation == "DIV":
            return self._value("MUL", arguments[0], self._value("INV", arguments[1]))
        key = (operation, *(sorted(arguments) if operation in _SYMMETRIC else arguments))
        if key not in self.known:
            self.known[key] = self._apply(operation, list(arguments))
        return self.known[key]

    def _store(self, value: _Value, argument: int, row: int) -> None:
        vector = value[0] if value[1] else self._vector(value[0])
        place = self._place(f"%out{argument}", row)
        self.body.append(f"store {_VECTOR} {vector}, {_VECTOR}* {place}, align 8")

    def _apply(self, operation: str, arguments: list[_Value]) -> _Value:
        each = any(is_vector for _, is_vector in arguments)
        values = [self._vector(v) if each and not is_vector else v for v, is_vector in arguments]
        kind = _VECTOR if each else "double"
        if operation in _LIBRARY:
            return self._library(operation.lower(), values[0], each=each), each
        if operation in _INTRINSIC:
            name = f"@llvm.{_INTRINSIC[operation]}.{f'v{LANES}f64' if each else 'f64'}"
            self.declared.add(f"declare {kind} {name}({', '.join([kind] * len(values))})")
            return self._emit(f"call {kind} {name}({', '.join(f'{kind} {v}' for v in values)})", each=each), each
        if operation in _COMPARE:
            return self._flag(_COMPARE[operation], *values, each=each), each
        if operation == "SIGN":
            zero = self._number(0.0, each=each)
            above, below = (self._flag(c, values[0], zero, each=each) for c in ("ogt", "olt"))
            return self._emit(f"fsub {kind} {above}, {below}", each=each), each
        return self._emit(self._arithmetic(operation, kind, values, each=each), each=each), each

    def _arithmetic(self, operation: str, kind: str, values: list[str], *, each: bool) -> str:
        if operation in _TWO:
            return f"{_TWO[operation]} contract {kind} {values[0]}, {values[1]}"
        if operation == "SQ":
            return f"fmul contract {kind} {values[0]}, {values[0]}"
        if operation == "TWICE":
            return f"fadd contract {kind} {values[0]}, {values[0]}"
        if operation == "INV":
            return f"fdiv {kind} {self._number(1.0, each=each)}, {values[0]}"
        if operation == "NEG":
            return f"fneg {kind} {values[0]}"
        raise UnwrittenOperationError(operation)

    def _number(self, value: float, *, each: bool) -> str:
        return self._vector(_constant(value)) if each else _constant(value)

    def _flag(self, condition: str, left: str, right: str, *, each: bool) -> str:
        """1.0 where the condition holds, else 0.0."""
        kind, mask = (_VECTOR, _MASK) if each else ("double", "i1")
        holds = self._emit(f"fcmp {condition} {kind} {left}, {right}", each=each)
        return self._emit(f"uitofp {mask} {holds} to {kind}", each=each)

    def _library(self, name: str, value: str, *, each: bool) -> str:
        """A function of the C library, lane by lane."""
        self.declared.add(f"declare double @{name}(double)")
        if not each:
            return self._emit(f"call double @{name}(double {value})", each=False)
        answer = "poison"
        for lane in range(LANES):
            one = self._emit(f"extractelement {_VECTOR} {value}, i32 {lane}", each=True)
            done = self._emit(f"call double @{name}(double {one})", each=True)
            answer = self._emit(f"insertelement {_VECTOR} {answer}, double {done}, i32 {lane}", each=True)
        return answer
