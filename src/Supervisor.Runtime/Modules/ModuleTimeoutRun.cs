using Supervisor.Bus.Rtu;
using Supervisor.Configuration.Machines;

namespace Supervisor.Runtime.Modules;

/// <summary>How far the communication time-out of a module is.</summary>
internal enum TimeoutStage : byte
{
    Reading = 0,
    Writing = 1,
    ReadingBack = 2,

    /// <summary>Every register holds what the machine file says.</summary>
    Set = 3,

    /// <summary>A register does not take its value, or the module refuses it.</summary>
    Failed = 4,
}

/// <summary>
/// Sets the communication time-out of a module, register by register: read, written where it differs, read back. A value is written once a
/// meeting at most, as a module may keep it in a memory that every write wears.
/// </summary>
internal sealed class ModuleTimeoutRun(ModuleTimeoutDefinition timeout, byte unit)
{
    private readonly bool[] _written = new bool[timeout.Writes.Count];
    private readonly ushort[] _value = new ushort[1];
    private int _index;

    /// <summary>Where it is.</summary>
    public TimeoutStage Stage { get; private set; } = StageAt(timeout.Writes[0]);

    /// <summary>From the start, with a module that is met or met again.</summary>
    public void Restart()
    {
        Array.Clear(_written);
        Again();
    }

    /// <summary>From the start; what was written once is only compared.</summary>
    public void Again()
    {
        _index = 0;
        Stage = StageAt(timeout.Writes[0]);
    }

    /// <summary>Fills in the next request.</summary>
    public void Ask(Transaction transaction)
    {
        var setting = timeout.Writes[_index];
        if (Stage != TimeoutStage.Writing)
        {
            transaction.Read(unit, FunctionCode.ReadHoldingRegisters, setting.Register, 1);
        }
        else if (timeout.WriteFunction == FunctionCode.WriteSingleRegister)
        {
            transaction.WriteSingle(unit, setting.Register, setting.Value);
        }
        else
        {
            _value[0] = setting.Value;
            transaction.WriteMultiple(unit, setting.Register, _value);
        }
    }

    /// <summary>Takes the reply.</summary>
    public void Take(Transaction transaction)
    {
        var setting = timeout.Writes[_index];
        if (transaction.Result == TransactionResult.ExceptionReply)
        {
            Stage = TimeoutStage.Failed;
        }
        else if (Stage == TimeoutStage.Writing)
        {
            _written[_index] = true;
            Stage = TimeoutStage.ReadingBack;
            if (!setting.ReadBack)
            {
                Step();
            }
        }
        else if (transaction.ReplyRegister(0) == setting.Value)
        {
            Step();
        }
        else
        {
            Stage = Stage == TimeoutStage.Reading && !_written[_index] ? TimeoutStage.Writing : TimeoutStage.Failed;
        }
    }

    /// <summary>Asks for the time as the module has it now.</summary>
    public void AskTime(Transaction transaction) => transaction.Read(unit, FunctionCode.ReadHoldingRegisters, timeout.Time.Register, 1);

    /// <summary>Whether the reply to <see cref="AskTime"/> is the time that was set.</summary>
    public bool IsKept(Transaction transaction) => transaction.ReplyRegister(0) == timeout.Time.Value;

    private void Step()
    {
        _index++;
        Stage = _index == timeout.Writes.Count ? TimeoutStage.Set : StageAt(timeout.Writes[_index]);
    }

    private static TimeoutStage StageAt(ModuleSetting setting) => setting.ReadBack ? TimeoutStage.Reading : TimeoutStage.Writing;
}
