using System.Runtime.Versioning;
using Supervisor.Bus;
using Supervisor.Bus.Rtu;
using Supervisor.Simulation.Bench;

namespace Supervisor.Interop.Peers;

/// <summary>Our slave behind a pseudo-terminal, served by a thread.</summary>
[SupportedOSPlatform("linux")]
internal sealed class OurSlave : IDisposable, IRegisterMap, IBitMap
{
    private readonly PseudoTerminal _terminal = PseudoTerminal.Open();
    private readonly LinuxMonotonicClock _clock = new();
    private readonly RtuSlave _slave = new();
    private readonly Thread _thread;
    private volatile bool _stop;

    public OurSlave()
    {
        _slave.Serve(3, this);
        _thread = new Thread(Serve) { IsBackground = true, Name = "our slave" };
        _thread.Start();
    }

    public ushort[] Registers { get; } = new ushort[64];

    /// <summary>Input registers, apart from the holding registers.</summary>
    public ushort[] Inputs { get; } = new ushort[64];

    public bool[] Coils { get; } = new bool[64];

    public string Device => _terminal.Device;

    public byte Read(ushort start, Span<ushort> values) => Copy(Registers, start, values);

    public byte ReadInputRegisters(ushort start, Span<ushort> values) => Copy(Inputs, start, values);

    public byte ReadCoils(ushort start, Span<bool> values) => Copy(Coils, start, values);

    public byte ReadInputs(ushort start, Span<bool> values) => ExceptionCode.IllegalDataAddress;

    public byte WriteCoils(ushort start, ReadOnlySpan<bool> values)
    {
        if (start + values.Length > Coils.Length)
        {
            return ExceptionCode.IllegalDataAddress;
        }

        values.CopyTo(Coils.AsSpan(start));
        return 0;
    }

    public byte Write(ushort start, ReadOnlySpan<ushort> values)
    {
        if (start + values.Length > Registers.Length)
        {
            return ExceptionCode.IllegalDataAddress;
        }

        values.CopyTo(Registers.AsSpan(start));
        return 0;
    }

    public void Dispose()
    {
        _stop = true;
        _thread.Join();
        _terminal.Dispose();
    }

    private static byte Copy<T>(T[] from, ushort start, Span<T> values)
    {
        if (start + values.Length > from.Length)
        {
            return ExceptionCode.IllegalDataAddress;
        }

        from.AsSpan(start, values.Length).CopyTo(values);
        return 0;
    }

    private void Serve()
    {
        var assembler = new RequestAssembler(TimeSpan.FromMilliseconds(20));
        var input = new byte[256];
        var reply = new byte[256];
        while (!_stop)
        {
            if (_terminal.Wait(5) == TerminalEvent.NobodyThere)
            {
                _clock.WaitUntil(_clock.Now + TimeSpan.FromMilliseconds(1));
                continue;
            }

            assembler.Add(input.AsSpan(0, _terminal.Read(input)), _clock.Now);
            while (assembler.TryTake(_clock.Now, out var frame))
            {
                _terminal.Write(reply.AsSpan(0, _slave.Answer(frame, reply)));
            }
        }
    }
}
