using Supervisor.Bus.Rtu;
using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;

namespace Supervisor.Simulation.Modules;

/// <summary>
/// A module of digital inputs and outputs as the machine file describes it, with a communication time-out of its own: not armed when it is
/// switched on, armed by what the file writes. A step machine: no I/O, no clock.
/// </summary>
public sealed class SimulatedModule : IRegisterMap, IBitMap, IIdentified
{
    private const byte IllegalAddress = 2;

    /// <summary>Time without an answer after it was switched on.</summary>
    public static readonly TimeSpan BootTime = TimeSpan.FromMilliseconds(300);

    private readonly BitBank? _inputs;
    private readonly BitBank? _outputs;
    private readonly BitBank? _mirror;
    private readonly Dictionary<int, ushort> _settings = [];
    private TimeSpan _now;
    private TimeSpan _fedAt;
    private TimeSpan _bootedAt = TimeSpan.MinValue;

    public SimulatedModule(ModuleDefinition module)
    {
        Module = module;
        Identity = InventedIdentity.Of(module.Identification, module.Name);
        _inputs = module.Inputs is { } inputs ? new BitBank(inputs.Start, inputs.Bits, inputs.Packing) : null;
        _outputs = module.Outputs is { } outputs ? new BitBank(outputs.Start, outputs.Bits, outputs.Packing) : null;
        _mirror = module.Outputs is { ReadBack: { } readBack } told ? new BitBank(readBack.Start, told.Bits, told.Packing) : null;
        SwitchOn();
    }

    /// <summary>The module as the machine file has it.</summary>
    public ModuleDefinition Module { get; }

    /// <summary>What it tells of itself; null where the machine file does not ask it.</summary>
    public DeviceIdentity? Identity { get; set; }

    /// <summary>Its plug is pulled or it is without supply: it neither hears nor answers.</summary>
    public bool IsUnplugged { get; set; }

    /// <summary>It takes no value for its communication time-out.</summary>
    public bool IsStubborn { get; set; }

    /// <summary>Outputs that stay off whatever is written, as one does that is short-circuited.</summary>
    public ISet<int> Shorted { get; } = new HashSet<int>();

    /// <summary>True while it does not answer.</summary>
    public bool IsSilent => IsUnplugged || _now < _bootedAt;

    /// <summary>True while its communication time-out is armed: the register holds a time.</summary>
    public bool IsArmed => Limit > TimeSpan.Zero;

    /// <summary>How often its communication time-out ran out.</summary>
    public int TimedOut { get; private set; }

    /// <summary>Its levels of inputs; closed is true.</summary>
    public Span<bool> Inputs => _inputs is null ? [] : _inputs.Levels;

    /// <summary>Its outputs as they are at the terminals.</summary>
    public ReadOnlySpan<bool> Outputs => _outputs is null ? [] : _outputs.Levels;

    private TimeSpan Limit =>
        Module.CommunicationTimeout is { } timeout && timeout.Time.Value > 0 ? timeout.Timeout * _settings[timeout.Time.Register] / timeout.Time.Value : TimeSpan.Zero;

    /// <summary>Lets time pass.</summary>
    public void Advance(TimeSpan now)
    {
        _now = now;
        if (IsArmed && now - _fedAt > Limit)
        {
            TimedOut++;
            _fedAt = now;
            if (Module.CommunicationTimeout!.Reaction == ModuleReaction.Off && _outputs is not null)
            {
                Array.Clear(_outputs.Levels);
            }
        }
    }

    /// <summary>Takes its supply away for a moment: outputs off, settings gone, silent while it starts.</summary>
    public void Restart()
    {
        SwitchOn();
        _bootedAt = _now + BootTime;
    }

    /// <summary>Leaves time out of the time-out's count: time in which the simulation, not the master, was silent.</summary>
    public void ExcuseSilence(TimeSpan time) => _fedAt += time;

    /// <inheritdoc/>
    public byte ReadCoils(ushort start, Span<bool> values) => Fed(ReadBits(start, values, FunctionCode.ReadCoils), TimeoutFeed.Read);

    /// <inheritdoc/>
    public byte ReadInputs(ushort start, Span<bool> values) => Fed(ReadBits(start, values, FunctionCode.ReadDiscreteInputs), TimeoutFeed.Read);

    /// <inheritdoc/>
    public byte WriteCoils(ushort start, ReadOnlySpan<bool> values)
    {
        if (Module.Outputs is not { Function: FunctionCode.WriteSingleCoil or FunctionCode.WriteMultipleCoils } || !_outputs!.HoldsBits(start, values.Length))
        {
            return Fed(IllegalAddress, TimeoutFeed.Write);
        }

        for (var i = 0; i < values.Length; i++)
        {
            _outputs[start + i] = values[i];
        }

        Short();
        return Fed(0, TimeoutFeed.Write);
    }

    /// <inheritdoc/>
    public byte Read(ushort start, Span<ushort> values) => Fed(ReadRegisters(start, values, FunctionCode.ReadHoldingRegisters), TimeoutFeed.Read);

    /// <inheritdoc/>
    public byte ReadInputRegisters(ushort start, Span<ushort> values) => Fed(ReadRegisters(start, values, FunctionCode.ReadInputRegisters), TimeoutFeed.Read);

    /// <inheritdoc/>
    public byte Write(ushort start, ReadOnlySpan<ushort> values)
    {
        for (var i = 0; i < values.Length; i++)
        {
            if (!_settings.ContainsKey(start + i) && !IsOutputRegister(start + i))
            {
                return Fed(IllegalAddress, TimeoutFeed.Write);
            }
        }

        for (var i = 0; i < values.Length; i++)
        {
            if (IsOutputRegister(start + i))
            {
                _outputs!.SetRegister(start + i, values[i]);
            }
            else if (!IsStubborn)
            {
                _settings[start + i] = values[i];
            }
        }

        Short();
        return Fed(0, TimeoutFeed.Write);
    }

    private void SwitchOn()
    {
        foreach (var setting in Module.CommunicationTimeout?.Writes ?? [])
        {
            _settings[setting.Register] = 0;
        }

        if (_outputs is not null)
        {
            Array.Clear(_outputs.Levels);
        }
    }

    private bool IsOutputRegister(int register) =>
        Module.Outputs is { Function: FunctionCode.WriteSingleRegister or FunctionCode.WriteMultipleRegisters or FunctionCode.MaskWriteRegister } && _outputs!.HoldsRegisters(register, 1);

    private byte ReadBits(int start, Span<bool> values, byte function)
    {
        var bank = IsInputs(function) && _inputs!.HoldsBits(start, values.Length) ? _inputs : Mirror(function);
        if (bank is null || !bank.HoldsBits(start, values.Length))
        {
            return IllegalAddress;
        }

        for (var i = 0; i < values.Length; i++)
        {
            values[i] = bank[start + i];
        }

        return 0;
    }

    private byte ReadRegisters(int start, Span<ushort> values, byte function)
    {
        for (var i = 0; i < values.Length; i++)
        {
            var bank = IsInputs(function) && _inputs!.HoldsRegisters(start + i, 1) ? _inputs : Mirror(function);
            if (bank is not null && bank.HoldsRegisters(start + i, 1))
            {
                values[i] = bank.Register(start + i);
            }
            else if (function == FunctionCode.ReadHoldingRegisters && _settings.TryGetValue(start + i, out var setting))
            {
                values[i] = setting;
            }
            else
            {
                return IllegalAddress;
            }
        }

        return 0;
    }

    private bool IsInputs(byte function) => Module.Inputs?.Function == function;

    /// <summary>What the outputs are set to, where a function reads it.</summary>
    private BitBank? Mirror(byte function)
    {
        if (Module.Outputs?.ReadBack?.Function != function)
        {
            return null;
        }

        _outputs!.Levels.CopyTo(_mirror!.Levels, 0);
        return _mirror;
    }

    private void Short()
    {
        foreach (var output in Shorted)
        {
            _outputs!.Levels[output] = false;
        }
    }

    private byte Fed(byte code, TimeoutFeed by)
    {
        var feeds = Module.CommunicationTimeout?.FedBy;
        if (feeds == TimeoutFeed.AnyFrame || (feeds == by && code == 0))
        {
            _fedAt = _now;
        }

        return code;
    }
}
