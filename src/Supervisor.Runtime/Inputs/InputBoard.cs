using Supervisor.Configuration.Machines;
using Supervisor.Runtime.Messaging;

namespace Supervisor.Runtime.Inputs;

/// <summary>One digital input as last read.</summary>
public struct InputReading
{
    /// <summary>Monotonic time of the last reading.</summary>
    public TimeSpan At;

    /// <summary>Monotonic time of the reading that first showed the present level.</summary>
    public TimeSpan ChangedAt;

    /// <summary>True when closed (1).</summary>
    public bool Closed;

    /// <summary>False until it was read once.</summary>
    public bool Known;

    /// <summary>An input that was never read, or whose reading is older than <paramref name="staleAfter"/>, counts as open.</summary>
    public readonly bool IsStale(TimeSpan now, TimeSpan staleAfter) => !Known || now - At > staleAfter;
}

/// <summary>Every input that the machine file names, each cell written by whoever owns its source and readable by all.</summary>
public sealed class InputBoard
{
    private readonly SnapshotCell<InputReading>[] _cells;
    private readonly Dictionary<string, int> _indices = new(StringComparer.Ordinal);
    private readonly List<InputReference> _inputs = [];

    public InputBoard(MachineDefinition machine)
    {
        ArgumentNullException.ThrowIfNull(machine);
        foreach (var input in machine.AllInputs())
        {
            Add(input);
        }

        _cells = new SnapshotCell<InputReading>[_inputs.Count];
        for (var cell = 0; cell < _cells.Length; cell++)
        {
            _cells[cell] = new SnapshotCell<InputReading>();
        }
    }

    /// <summary>The inputs, each once, in the order of first use.</summary>
    public IReadOnlyList<InputReference> Inputs => _inputs;

    /// <summary>Cell of an input.</summary>
    public int IndexOf(InputReference input)
    {
        ArgumentNullException.ThrowIfNull(input);
        return _indices[input.Text];
    }

    /// <summary>The latest reading of a cell. Any thread.</summary>
    public InputReading Read(int cell) => _cells[cell].Read();

    /// <summary>Writes a level. Only the thread that owns the input's source.</summary>
    public void Write(int cell, bool closed, TimeSpan now) => Write(cell, closed, now, now);

    /// <summary>Writes a level whose change was stamped by its source. Only the thread that owns the input's source.</summary>
    public void Write(int cell, bool closed, TimeSpan changedAt, TimeSpan now)
    {
        var reading = _cells[cell].Read();
        if (!reading.Known || reading.Closed != closed)
        {
            reading.ChangedAt = changedAt;
        }

        reading.Known = true;
        reading.Closed = closed;
        reading.At = now;
        _cells[cell].Write(reading);
    }

    private void Add(InputReference input)
    {
        if (_indices.TryAdd(input.Text, _inputs.Count))
        {
            _inputs.Add(input);
        }
    }
}
