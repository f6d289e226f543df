using Supervisor.Bus.Rtu;
using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;
using Supervisor.Simulation.Drives;
using Supervisor.Simulation.Plant;
using Supervisor.Simulation.Wires;

namespace Supervisor.Simulation.Tests.Support;

/// <summary>One drive on a line and a master that speaks to it in frames, in simulated time.</summary>
internal sealed class Rig
{
    private readonly Transaction _transaction = new();
    private readonly byte[] _reply = new byte[256];

    public Rig(AxisDefinition? axis = null, PlantSettings? plant = null, ulong seed = 1)
    {
        Axis = axis ?? Definitions.Axis();
        Drive = new SimulatedDrive(Axis, plant, seed);
        Line = new SimulatedLine(Definitions.Port, [Drive]);
        Line.Advance(Now);
    }

    public AxisDefinition Axis { get; }

    public SimulatedDrive Drive { get; }

    public SimulatedLine Line { get; }

    public TimeSpan Now { get; private set; } = TimeSpan.FromSeconds(1000);

    public int Statusword => (int)Get("statusword");

    /// <summary>Lets time pass with nobody speaking.</summary>
    public void Pass(double milliseconds)
    {
        Now += TimeSpan.FromMilliseconds(milliseconds);
        Line.Advance(Now);
    }

    /// <summary>Lets time pass in steps until something holds; false when the time runs out.</summary>
    public bool Until(Func<bool> holds, double milliseconds, Action? eachStep = null)
    {
        for (double passed = 0; passed < milliseconds; passed++)
        {
            if (holds())
            {
                return true;
            }

            Pass(1);
            eachStep?.Invoke();
        }

        return holds();
    }

    /// <summary>Writes a field by the definition's own function.</summary>
    public void Set(string name, double value)
    {
        byte exception = Write(name, value);
        Assert.True(exception == 0, $"writing {name} was refused with exception {exception}");
        Pass(2);
    }

    /// <summary>Writes a field; the exception code, 0 for none.</summary>
    public byte Write(string name, double value)
    {
        var field = Field(name);
        long raw = (long)Math.Round(value / field.Scale);
        ushort[] words = field.Width == 1 ? [(ushort)raw]
            : Axis.Drive.Wire.WordOrder == WordOrder.HighFirst ? [(ushort)(raw >> 16), (ushort)raw] : [(ushort)raw, (ushort)(raw >> 16)];
        return WriteRegisters(Wire(field), words);
    }

    public byte WriteRegisters(int start, params ushort[] words)
    {
        _transaction.WriteMultiple(Axis.Address, (ushort)start, words);
        return Exchange();
    }

    /// <summary>Reads a field.</summary>
    public double Get(string name)
    {
        var field = Field(name);
        _transaction.Read(Axis.Address, Axis.Drive.Wire.ReadFunction, (ushort)Wire(field), (ushort)field.Width);
        byte exception = Exchange();
        Assert.True(exception == 0, $"reading {name} was refused with exception {exception}");
        uint raw = _transaction.ReplyRegister(0);
        if (field.Width == 2)
        {
            uint second = _transaction.ReplyRegister(1);
            raw = Axis.Drive.Wire.WordOrder == WordOrder.HighFirst ? (raw << 16) | second : raw | (second << 16);
        }

        return field.Scale * field.Type switch
        {
            RegisterType.S16 => (short)raw,
            RegisterType.S32 => (int)raw,
            _ => (double)raw,
        };
    }

    /// <summary>Reads registers by their wire address; the exception code, 0 for none.</summary>
    public byte Read(int start, int count, byte? function = null)
    {
        _transaction.Read(Axis.Address, function ?? Axis.Drive.Wire.ReadFunction, (ushort)start, (ushort)count);
        return Exchange();
    }

    /// <summary>A word of the last reply.</summary>
    public ushort Word(int index) => _transaction.ReplyRegister(index);

    /// <summary>Runs a request as it is; the exception code, 0 for none, 255 for silence.</summary>
    public byte Exchange(Action<Transaction>? ask = null)
    {
        ask?.Invoke(_transaction);
        _transaction.Begin(Now);
        int length = Line.Answer(_transaction.RequestFrame, Now, _reply, out var replyAt);
        if (length == 0)
        {
            return 255;
        }

        var result = _transaction.Accept(_reply.AsSpan(0, length), replyAt);
        Assert.True(result is TransactionResult.Reply or TransactionResult.ExceptionReply, $"reply is {result}");
        return _transaction.ExceptionCode;
    }

    /// <summary>Brings a CiA 402 drive to operation enabled by the standard's sequence, in a mode.</summary>
    public void Enable(int mode = 1)
    {
        Set("mode", mode);
        Set("controlword", 0x06);
        Set("controlword", 0x07);
        Set("controlword", 0x0F);
        Assert.Equal(0x27, Statusword & 0x6F);
        Pass(100);
    }

    /// <summary>Gives a set-point by the handshake of profile position.</summary>
    public void MoveTo(double counts, int flags = 0x20)
    {
        Set("targetPosition", counts);
        Set("controlword", 0x1F | flags);
        Assert.True((Statusword & 0x1000) != 0, "set-point not acknowledged");
        Set("controlword", 0x0F | (flags & ~0x40));
    }

    /// <summary>Homes a CiA 402 drive in the way its axis is commissioned.</summary>
    public void Home()
    {
        Set("mode", 6);
        Set("controlword", 0x1F);
        Assert.True(Until(() => (Statusword & 0x1400) == 0x1400, 30000), $"not homed: status {Statusword:X4}, {Drive.StateName}, error {Drive.ErrorCode:X4}, at {Drive.Plant.Position}");
        Set("mode", 1);
        Set("controlword", 0x0F);
    }

    private RegisterField Field(string name) =>
        Axis.Drive.FeedbackField(name) ?? Axis.Drive.CommandField(name) ?? Axis.Drive.Parameter(name) ?? throw new ArgumentException(name);

    private int Wire(RegisterField field) => field.Register - Axis.Drive.Wire.FirstRegister;
}
