using Supervisor.Bus.Rtu;
using Supervisor.Configuration.Drives;

namespace Supervisor.Drives.Exchange;

/// <summary>The command registers of one drive as they should be, beside what the drive is known to hold.</summary>
/// <remarks>Only differences are written. After a restart of the drive nothing is known, so everything is.</remarks>
public sealed class CommandImage
{
    private readonly ExchangePlan _plan;
    private readonly ushort[] _wanted;
    private readonly ushort[] _held;
    private readonly bool[] _known;
    private readonly int _controlBlock;
    private bool _controlKnown;

    /// <param name="plan">The drive's plan.</param>
    /// <param name="controlOffset">Offset of the register that starts and stops motion: its block is written last.</param>
    public CommandImage(ExchangePlan plan, int controlOffset)
    {
        ArgumentNullException.ThrowIfNull(plan);
        _plan = plan;
        _wanted = new ushort[plan.CommandRegisters];
        _held = new ushort[plan.CommandRegisters];
        _known = new bool[plan.CommandBlocks.Length];
        ControlOffset = controlOffset;
        _controlBlock = Array.FindIndex(plan.CommandBlocks, block => controlOffset >= block.Offset && controlOffset < block.Offset + block.Count);
    }

    /// <summary>Offset of the control register.</summary>
    public int ControlOffset { get; }

    /// <summary>The registers as they should be; change them freely, nothing is sent until asked for.</summary>
    public Span<ushort> Wanted => _wanted;

    /// <summary>Address of the control register on the wire.</summary>
    public ushort ControlAddress => (ushort)(_plan.CommandBlocks[_controlBlock].Start + ControlOffset - _plan.CommandBlocks[_controlBlock].Offset);

    /// <summary>Forgets what the drive holds: every block counts as changed.</summary>
    public void Forget()
    {
        Array.Clear(_known);
        _controlKnown = false;
    }

    /// <summary>Nobody knows whether a block arrived: it counts as changed until it is confirmed.</summary>
    public void Doubt(int block)
    {
        _known[block] = false;
        _controlKnown &= block != _controlBlock;
    }

    /// <summary>True when the drive confirmed the control register as it should be, whatever is with the rest.</summary>
    public bool IsControlHeld => _controlKnown && _held[ControlOffset] == _wanted[ControlOffset];

    /// <summary>The block of the control register counts as changed: it was sent without an answer, or its drive wants to hear it again.</summary>
    public void DoubtControl() => Doubt(_controlBlock);

    /// <summary>The next block to write, data before control; -1 when the drive holds everything.</summary>
    public int NextChanged()
    {
        CompletePairs();
        for (var block = 0; block < _known.Length; block++)
        {
            if (block != _controlBlock && IsChanged(block))
            {
                return block;
            }
        }

        return IsChanged(_controlBlock) ? _controlBlock : -1;
    }

    /// <summary>True when a block differs from what the drive holds.</summary>
    public bool IsChanged(int block) => !_known[block] || Differs(block);

    private bool Differs(int block)
    {
        var (offset, count) = (_plan.CommandBlocks[block].Offset, _plan.CommandBlocks[block].Count);
        return !_wanted.AsSpan(offset, count).SequenceEqual(_held.AsSpan(offset, count));
    }

    /// <summary>One word of a value changed: both are written anew, so that the drive never puts a new one beside an old one.</summary>
    private void CompletePairs()
    {
        for (var block = 0; block < _known.Length; block++)
        {
            if (_plan.PairOf(block) is >= 0 and var other && _known[block] && Differs(block))
            {
                _known[block] = false;
                _known[other] = false;
            }
        }
    }

    /// <summary>Fills in the request that writes a block.</summary>
    public void Write(Transaction transaction, byte unit, int block)
    {
        ArgumentNullException.ThrowIfNull(transaction);
        var b = _plan.CommandBlocks[block];
        if (_plan.Drive.Wire.WriteFunction == 6)
        {
            transaction.WriteSingle(unit, b.Start, _wanted[b.Offset]);
        }
        else
        {
            transaction.WriteMultiple(unit, b.Start, _wanted.AsSpan(b.Offset, b.Count));
        }
    }

    /// <summary>Fills in the request that writes one value alone.</summary>
    internal void Write(Transaction transaction, byte unit, in FieldSlot field)
    {
        var block = _plan.CommandBlocks[BlockOf(field.Offset)];
        var address = (ushort)(block.Start + field.Offset - block.Offset);
        if (_plan.Drive.Wire.WriteFunction == 6)
        {
            transaction.WriteSingle(unit, address, _wanted[field.Offset]);
        }
        else
        {
            transaction.WriteMultiple(unit, address, _wanted.AsSpan(field.Offset, field.IsWide ? 2 : 1));
        }
    }

    /// <summary>True when the drive confirmed a value as it should be, whether or not it is to hear it again.</summary>
    internal bool IsHeld(in FieldSlot field) => field.Raw(_held) == field.Raw(_wanted);

    /// <summary>The drive confirmed one value as last sent.</summary>
    internal void Confirm(in FieldSlot field) => field.PutRaw(_held, field.Raw(_wanted));

    /// <summary>Fills in the request that writes the whole command and reads the whole feedback.</summary>
    public void WriteAndRead(Transaction transaction, byte unit)
    {
        ArgumentNullException.ThrowIfNull(transaction);
        var read = _plan.FeedbackBlocks[0];
        transaction.ReadWrite(unit, read.Start, read.Count, _plan.CommandBlocks[0].Start, _wanted);
    }

    /// <summary>Fills in the request that writes the control register alone: the stop frame.</summary>
    public void WriteControl(Transaction transaction, byte unit)
    {
        ArgumentNullException.ThrowIfNull(transaction);
        if (_plan.Drive.Wire.WriteFunction == 6)
        {
            transaction.WriteSingle(unit, ControlAddress, _wanted[ControlOffset]);
        }
        else
        {
            transaction.WriteMultiple(unit, ControlAddress, _wanted.AsSpan(ControlOffset, 1));
        }
    }

    /// <summary>Takes back a value that was not sent yet. One that may or may not have arrived stays: what the drive holds is then told whole.</summary>
    internal void Withdraw(in FieldSlot field)
    {
        if (field.IsDeclared && IsKnown(field.Offset) && (!field.IsWide || IsKnown(field.Offset + 1)))
        {
            field.PutRaw(_wanted, field.Raw(_held));
        }
    }

    /// <summary>A bit as the drive confirmed it; null while what it holds there is not known.</summary>
    internal bool? Held(in BitSlot bit, WordOrder order) => bit.IsDeclared && IsKnown(bit.RegisterOffset(order)) ? bit.Get(_held) : null;

    private bool IsKnown(int offset) => _known[BlockOf(offset)];

    /// <remarks>The blocks of a value that is written word by word may stand in the drive's own order, not in that of the offsets.</remarks>
    private int BlockOf(int offset)
    {
        var block = 0;
        while (offset < _plan.CommandBlocks[block].Offset || offset >= _plan.CommandBlocks[block].Offset + _plan.CommandBlocks[block].Count)
        {
            block++;
        }

        return block;
    }

    /// <summary>The drive confirmed a block as last sent.</summary>
    public void Confirm(int block)
    {
        var b = _plan.CommandBlocks[block];
        _wanted.AsSpan(b.Offset, b.Count).CopyTo(_held.AsSpan(b.Offset, b.Count));
        _known[block] = true;
        _controlKnown |= block == _controlBlock;
    }

    /// <summary>The drive confirmed the control register as last sent.</summary>
    public void ConfirmControl()
    {
        _held[ControlOffset] = _wanted[ControlOffset];
        _controlKnown = true;
    }
}
