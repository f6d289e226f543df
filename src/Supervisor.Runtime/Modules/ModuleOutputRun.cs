using Supervisor.Bus.Rtu;
using Supervisor.Configuration.Machines;
using Supervisor.Runtime.Outputs;

namespace Supervisor.Runtime.Modules;

/// <summary>
/// The outputs of one module: what is ordered is written, and counts as done once the module's own reading of its outputs shows it, or its
/// reply where it tells none. Outputs that nobody ordered stay as they were found; where the module can't be read, off.
/// </summary>
internal sealed class ModuleOutputRun
{
    private readonly ModuleOutputs _outputs;
    private readonly byte _unit;
    private readonly RegisterBits _bits;
    private readonly OutputCell[] _cells;
    private readonly int[] _bitOf;
    private readonly bool[] _levels;
    private readonly OutputOrder[] _orders;
    private readonly bool[] _isWritten;
    private readonly bool[] _before;
    private readonly long[] _tried;
    private int _turn;

    /// <param name="outputs">The module's outputs.</param>
    /// <param name="unit">Its address.</param>
    /// <param name="cells">The outputs that the machine uses, each with its bit.</param>
    public ModuleOutputRun(ModuleOutputs outputs, byte unit, IReadOnlyList<(OutputCell Cell, int Bit)> cells)
    {
        (_outputs, _unit) = (outputs, unit);
        _bits = new RegisterBits(outputs.Bits, outputs.Packing);
        _cells = [.. cells.Select(each => each.Cell)];
        _bitOf = [.. cells.Select(each => each.Bit)];
        _levels = new bool[outputs.Bits];
        _orders = new OutputOrder[_cells.Length];
        _isWritten = new bool[_cells.Length];
        _before = new bool[_cells.Length];
        _tried = new long[_cells.Length];
    }

    /// <summary>The module tells what its outputs are set to.</summary>
    public bool CanReadBack => _outputs.ReadBack is not null;

    /// <summary>What its outputs are set to is known here.</summary>
    public bool IsKnown { get; private set; }

    /// <summary>What was written waits to be read back.</summary>
    public bool IsWritten { get; private set; }

    /// <summary>Writes that were refused, or not found when read back, since the last one that went well.</summary>
    public int Failures { get; private set; }

    /// <summary>True when an order must be written.</summary>
    public bool IsDue
    {
        get
        {
            foreach (var cell in _cells)
            {
                if (cell.IsDue(out _))
                {
                    return true;
                }
            }

            return false;
        }
    }

    /// <summary>True when an order must be written that was never tried: it does not wait for those that were tried in vain.</summary>
    public bool IsNewDue
    {
        get
        {
            for (var i = 0; i < _cells.Length; i++)
            {
                if (IsNew(i))
                {
                    return true;
                }
            }

            return false;
        }
    }

    /// <summary>Nothing of what was written before counts any more.</summary>
    public void Lose()
    {
        IsKnown = false;
        IsWritten = false;
        Failures = 0;
        foreach (var cell in _cells)
        {
            cell.Lose();
        }
    }

    /// <summary>Asks what the outputs are set to.</summary>
    public void AskReadBack(Transaction transaction) => _bits.Read(transaction, _unit, _outputs.ReadBack!.Function, _outputs.ReadBack.Start);

    /// <summary>The module was met: its outputs are as they are, whoever set them. They are told and kept until something else is ordered.</summary>
    /// <param name="transaction">The reply; null: it can't be read.</param>
    /// <param name="now">Monotonic time.</param>
    public void Meet(Transaction? transaction, TimeSpan now)
    {
        for (var bit = 0; bit < _levels.Length; bit++)
        {
            _levels[bit] = transaction is not null && _bits.Get(transaction, bit);
        }

        IsKnown = transaction is not null;
        if (IsKnown)
        {
            TellFound(now);
        }
    }

    /// <summary>Fills in what sets the outputs that are ordered otherwise than they are.</summary>
    public void AskWrite(Transaction transaction)
    {
        var first = NextInTurn();
        _turn = first + 1;
        for (var i = 0; i < _cells.Length; i++)
        {
            _isWritten[i] = _cells[i].IsDue(out _orders[i]) && GoesWith(_bitOf[i], _bitOf[first]);
            if (_isWritten[i])
            {
                _tried[i] = _orders[i].Number;
                _before[i] = _levels[_bitOf[i]];
                _levels[_bitOf[i]] = _orders[i].On;
            }
        }

        Write(transaction, _bitOf[first]);
    }

    /// <summary>Fills in what sets outputs to what they are already.</summary>
    public void AskFeed(Transaction transaction) => Write(transaction, 0);

    /// <summary>The module has taken what was written, or may have: it is read back where it can be.</summary>
    public void Written(TimeSpan now)
    {
        IsWritten = CanReadBack;
        if (!CanReadBack)
        {
            Acknowledge(now);
        }
    }

    /// <summary>The module has refused what was written: its outputs are as before.</summary>
    public void Refused()
    {
        Failures++;
        for (var i = 0; i < _cells.Length; i++)
        {
            if (_isWritten[i])
            {
                _levels[_bitOf[i]] = _before[i];
            }
        }
    }

    /// <summary>Takes the outputs as they are.</summary>
    /// <returns>False when one that was not just written is otherwise than it was left.</returns>
    public bool Take(Transaction transaction, TimeSpan now)
    {
        var isKept = true;
        for (var bit = 0; bit < _levels.Length; bit++)
        {
            var level = _bits.Get(transaction, bit);
            var isNew = IsWritten && IsAmongWritten(bit);
            isKept &= isNew || level == _levels[bit];
            _levels[bit] = isNew ? level : _levels[bit];
        }

        if (IsWritten)
        {
            IsWritten = false;
            Acknowledge(now);
        }
        else if (isKept)
        {
            TellFound(now);
        }

        return isKept;
    }

    /// <summary>Each output by itself: one that does not follow keeps no other from counting as set.</summary>
    private void Acknowledge(TimeSpan now)
    {
        IsKnown = true;
        var isTaken = true;
        for (var i = 0; i < _cells.Length; i++)
        {
            if (_isWritten[i] && _levels[_bitOf[i]] == _orders[i].On)
            {
                _cells[i].Acknowledge(_orders[i], now);
            }
            else
            {
                isTaken &= !_isWritten[i];
            }
        }

        Failures = isTaken ? 0 : Failures + 1;
    }

    private void TellFound(TimeSpan now)
    {
        for (var i = 0; i < _cells.Length; i++)
        {
            _cells[i].Found(_levels[_bitOf[i]], now);
        }
    }

    private bool IsNew(int cell) => _cells[cell].IsDue(out var order) && order.Number > _tried[cell];

    /// <summary>A cell whose order is due: one that was never tried before others, else whose turn it is.</summary>
    private int NextInTurn()
    {
        var due = 0;
        for (var i = _cells.Length - 1; i >= 0; i--)
        {
            var cell = (_turn + i) % _cells.Length;
            due = _cells[cell].IsDue(out _) ? cell : due;
        }

        for (var i = 0; i < _cells.Length; i++)
        {
            due = IsNew(i) && !IsNew(due) ? i : due;
        }

        return due;
    }

    private bool IsAmongWritten(int bit)
    {
        for (var i = 0; i < _bitOf.Length; i++)
        {
            if (_bitOf[i] == bit && _isWritten[i])
            {
                return true;
            }
        }

        return false;
    }

    /// <summary>Whether one request of this module's function sets both.</summary>
    private bool GoesWith(int bit, int other) => _outputs.Function switch
    {
        FunctionCode.WriteSingleCoil => bit == other,
        FunctionCode.WriteSingleRegister or FunctionCode.MaskWriteRegister => _bits.RegisterOf(bit) == _bits.RegisterOf(other),
        _ => true,
    };

    private void Write(Transaction transaction, int bit)
    {
        switch (_outputs.Function)
        {
            case FunctionCode.WriteSingleCoil:
                transaction.WriteCoil(_unit, (ushort)(_outputs.Start + bit), _levels[bit]);
                break;
            case FunctionCode.WriteMultipleCoils:
                transaction.WriteCoils(_unit, _outputs.Start, _levels);
                break;
            case FunctionCode.WriteSingleRegister:
                var register = _bits.RegisterOf(bit);
                transaction.WriteSingle(_unit, (ushort)(_outputs.Start + register), _bits.Pack(_levels)[register]);
                break;
            case FunctionCode.MaskWriteRegister:
                var masked = _bits.RegisterOf(bit);
                transaction.MaskWrite(_unit, (ushort)(_outputs.Start + masked), (ushort)~_bits.Mask(masked), _bits.Pack(_levels)[masked]);
                break;
            default:
                transaction.WriteMultiple(_unit, _outputs.Start, _bits.Pack(_levels));
                break;
        }
    }
}
