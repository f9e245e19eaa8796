"""Number types and small numerical tools that every layer may use."""

from typing import Annotated, Any

import numpy as np
from numpy.typing import NDArray


class Listed:
    """Has pydantic write an array as a list of numbers, and read it again."""

    def __get_pydantic_core_schema__(self, _source: Any, _handler: Any) -> Any:
        """Return the schema; pydantic is only needed by who asks for it."""
        from pydantic_core import core_schema

        written = core_schema.plain_serializer_function_ser_schema(np.ndarray.tolist)
        read = core_schema.no_info_plain_validator_function(_floats, serialization=written)
        return core_schema.json_or_python_schema(read, read, serialization=written)

    def __get_pydantic_json_schema__(self, _schema: Any, _handler: Any) -> dict[str, Any]:
        """Return what it looks like."""
        return {"type": "array", "items": {"type": "number"}}


def _floats(listed: Any) -> NDArray[np.float64]:
    return np.array(listed, dtype=np.float64)


Array = Annotated[NDArray[np.float64], Listed()]
Numeric = float | Array
"""A float or an array of floats; functions give back what they were given."""
