using Supervisor.Bus;
using Supervisor.Bus.Links;
using Supervisor.Bus.Rtu;
using Supervisor.Daemon.Verbs.Diagnose;

namespace Supervisor.Daemon.Tests.Verbs.Lines;

/// <summary>A serial port in simulated time, with slaves behind it that hear one line setting only.</summary>
internal sealed class StandInWire(LineSettings heard) : IMonotonicClock
{
    private readonly List<(TimeSpan At, byte[] Bytes)> _coming = [];

    public RtuSlave Slave { get; } = new();

    public TimeSpan Now { get; private set; } = TimeSpan.FromSeconds(100);

    /// <summary>Time from the end of a request to the end of its answer.</summary>
    public TimeSpan Turnaround { get; set; } = TimeSpan.FromMilliseconds(2);

    /// <summary>What becomes of an answer (the second) to a request (the first); an empty one is silence.</summary>
    public Func<byte[], byte[], byte[]> Spoil { get; set; } = (_, answer) => answer;

    /// <summary>The adapter hears what it sends.</summary>
    public bool HearsItself { get; set; }

    /// <summary>Told of each request before it is answered.</summary>
    public Action<byte[]> Asked { get; set; } = _ => { };

    /// <summary>Settings that the adapter does not take.</summary>
    public HashSet<int> RefusedBauds { get; } = [];

    public List<byte[]> Frames { get; } = [];

    public int Openings { get; private set; }

    public DiagnosisPlaces Places(string proc = "/nowhere") => new() { Open = Open, Clock = this, Holders = new DeviceHolders(proc), DaemonSocket = () => null };

    public void WaitUntil(TimeSpan deadline) => Now = deadline > Now ? deadline : Now;

    private LinkOpening Open(string device, LineSettings line)
    {
        Openings++;
        return RefusedBauds.Contains(line.Baud)
            ? LinkOpening.Failed(OpenFailure.SettingsRefused, $"{device}: does not take {line.Baud} baud")
            : LinkOpening.Opened(new Link(this, line));
    }

    private void Take(byte[] request, LineSettings line)
    {
        Frames.Add(request);
        Asked(request);
        var sent = Now + line.CharacterTime(request.Length);
        if (HearsItself)
        {
            _coming.Add((sent, request));
        }

        var reply = new byte[256];
        var answer = line.Baud == heard.Baud && line.Parity == heard.Parity ? reply[..Slave.Answer(request, reply)] : [];
        answer = answer.Length > 0 ? Spoil(request, answer) : answer;
        if (answer.Length > 0)
        {
            _coming.Add((sent + Turnaround, answer));
        }
    }

    private sealed class Link(StandInWire wire, LineSettings line) : ILink
    {
        public LinkStatus Write(ReadOnlySpan<byte> bytes, TimeSpan deadline)
        {
            wire.Take(bytes.ToArray(), line);
            return LinkStatus.Ok;
        }

        public LinkStatus Read(Span<byte> into, TimeSpan deadline, out int count)
        {
            count = 0;
            if (wire._coming is [var next, ..] && next.At <= deadline)
            {
                wire.WaitUntil(next.At);
                next.Bytes.CopyTo(into);
                count = next.Bytes.Length;
                wire._coming.RemoveAt(0);
                return LinkStatus.Ok;
            }

            wire.WaitUntil(deadline);
            return LinkStatus.TimedOut;
        }

        public LinkStatus DiscardInput() => LinkStatus.Ok;

        public void Dispose()
        {
        }
    }
}

/// <summary>Registers, or none; and an identification, or none.</summary>
internal sealed class StandInDevice(bool hasRegister, DeviceIdentity? identity) : IRegisterMap, IIdentified
{
    public DeviceIdentity? Identity => identity;

    public int Writes { get; private set; }

    public byte Read(ushort start, Span<ushort> values) => hasRegister ? (byte)0 : ExceptionCode.IllegalDataAddress;

    public byte Write(ushort start, ReadOnlySpan<ushort> values)
    {
        Writes++;
        return 0;
    }
}
