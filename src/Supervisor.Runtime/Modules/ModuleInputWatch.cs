using Supervisor.Bus.Rtu;
using Supervisor.Configuration.Machines;
using Supervisor.Runtime.Inputs;

namespace Supervisor.Runtime.Modules;

/// <summary>The inputs of one module that the machine uses: written to the board with every reading, tripping the latch the moment one is open or silent.</summary>
internal sealed class ModuleInputWatch
{
    private readonly MachineBoard _board;
    private readonly ModuleInputs _inputs;
    private readonly byte _unit;
    private readonly RegisterBits _bits;
    private readonly (int Cell, int Bit)[] _used;
    private readonly InputTrips _trips;

    /// <param name="board">What all threads share.</param>
    /// <param name="module">Index of the module.</param>
    /// <param name="inputs">Its inputs.</param>
    public ModuleInputWatch(MachineBoard board, int module, ModuleInputs inputs)
    {
        (_board, _inputs, _unit) = (board, inputs, board.Machine.Modules[module].Address);
        _bits = new RegisterBits(inputs.Bits, inputs.Packing);
        _used = [.. Enumerable.Range(0, board.Inputs.Inputs.Count)
            .Where(cell => board.Inputs.Inputs[cell].Module?.Module == module)
            .Select(cell => (cell, board.Inputs.Inputs[cell].Module!.Bit))];
        _trips = new InputTrips(board, _used.Select(input => input.Cell));
    }

    public void Ask(Transaction transaction) => _bits.Read(transaction, _unit, _inputs.Function, _inputs.Start);

    /// <summary>Takes a reading.</summary>
    /// <param name="transaction">The answer.</param>
    /// <param name="openingsOnly">What is closed is left to fall silent.</param>
    /// <param name="now">Monotonic time.</param>
    public void Take(Transaction transaction, bool openingsOnly, TimeSpan now)
    {
        foreach (var (cell, bit) in _used)
        {
            var closed = _bits.Get(transaction, bit);
            if (!closed || !openingsOnly)
            {
                _board.Inputs.Write(cell, closed, now);
            }
        }

        _trips.Judge(now);
    }

    /// <summary>Trips what is open long enough, or silent too long.</summary>
    public void Judge(TimeSpan now) => _trips.Judge(now);
}
