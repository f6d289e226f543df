using System.Buffers.Binary;

namespace Supervisor.Bus.Gpio;

/// <summary>How a line is asked for.</summary>
/// <param name="IsOutput">True for an output, false for an input with both edges.</param>
/// <param name="ActiveLow">True when the low level is 1.</param>
/// <param name="Bias">The chip's own resistor.</param>
/// <param name="InitialOn">Level an output has from the first moment.</param>
public readonly record struct GpioLineSettings(bool IsOutput, bool ActiveLow, GpioBias Bias, bool InitialOn)
{
    /// <summary>As whoever held it before left it: direction and level are not touched, and the level can be read, with <see cref="ActiveLow"/> by its meaning. <see cref="GpioLine.MakeOutput"/> follows.</summary>
    public static GpioLineSettings AsFound => new() { IsAsFound = true };

    /// <summary>True for <see cref="AsFound"/>.</summary>
    public bool IsAsFound { get; private init; }
}

/// <summary>The chip's own resistor on a line.</summary>
public enum GpioBias : byte
{
    /// <summary>As it is.</summary>
    AsIs = 0,
    PullUp = 1,
    PullDown = 2,

    /// <summary>None.</summary>
    Disabled = 3,
}

/// <summary>An edge of an input.</summary>
/// <param name="At">Monotonic time, stamped by the kernel.</param>
/// <param name="IsRising">True towards 1.</param>
/// <param name="Sequence">Count of the line's edges, from 1: a gap means that edges were lost.</param>
public readonly record struct GpioEdge(TimeSpan At, bool IsRising, uint Sequence);

/// <summary>One line, held by a request of its own so that its troubles are its own. Nothing is allocated after the request.</summary>
public sealed class GpioLine
{
    // A bouncing contact between two looks; what does not fit is lost by the kernel, and the sequence shows it.
    private const int EventsPerRead = 16;
    private const int QueuedEvents = 64;
    private const int NanosecondsPerTick = 100;
    private readonly IGpioKernel _kernel;
    private readonly byte[] _events = new byte[EventsPerRead * GpioAbi.EventSize];
    private readonly byte[] _values = new byte[GpioAbi.ValuesSize];
    private readonly byte[] _config = new byte[GpioAbi.ConfigSize];

    private readonly bool _isActiveLow;

    private GpioLine(IGpioKernel kernel, int descriptor, bool isActiveLow) => (_kernel, Descriptor, _isActiveLow) = (kernel, descriptor, isActiveLow);

    /// <summary>The descriptor to wait on.</summary>
    public int Descriptor { get; }

    /// <summary>Asks for a line; null with the problem told.</summary>
    /// <param name="kernel">The system calls.</param>
    /// <param name="chip">The chip.</param>
    /// <param name="line">Offset, or name.</param>
    /// <param name="settings">How.</param>
    /// <param name="consumer">Who holds it from now on, shown by the system's tools; at most 31 bytes count.</param>
    /// <param name="problem">What is wrong and what to do; empty when it is held.</param>
    public static GpioLine? Request(
        IGpioKernel kernel, GpioChip chip, string line, in GpioLineSettings settings, ReadOnlySpan<byte> consumer, out string problem)
    {
        ArgumentNullException.ThrowIfNull(kernel);
        ArgumentNullException.ThrowIfNull(chip);
        if (chip.Find(line, out problem) is not { } offset)
        {
            return null;
        }

        Span<byte> request = stackalloc byte[GpioAbi.RequestSize];
        Fill(request, offset, settings, consumer);
        var error = kernel.Control(chip.Descriptor, GpioAbi.GetLine, request);
        if (error != 0)
        {
            var holder = chip.Line(offset) is { IsUsed: true } info ? $", held by \"{info.Consumer}\"" : "";
            problem = $"line {line} of chip \"{chip.Label}\": {GpioErrors.Of(error)}{holder}";
            return null;
        }

        return new GpioLine(kernel, BinaryPrimitives.ReadInt32LittleEndian(request[GpioAbi.RequestDescriptor..]), settings.ActiveLow);
    }

    /// <summary>The level of a line that nobody holds, looked at once: neither its direction nor its resistor is changed. Null with the problem told.</summary>
    public static bool? Peek(IGpioKernel kernel, GpioChip chip, int offset, out string problem)
    {
        ArgumentNullException.ThrowIfNull(kernel);
        ArgumentNullException.ThrowIfNull(chip);

        // Without a flag for the direction the kernel takes the line "as is".
        Span<byte> request = stackalloc byte[GpioAbi.RequestSize];
        request.Clear();
        BinaryPrimitives.WriteInt32LittleEndian(request[GpioAbi.RequestOffsets..], offset);
        BinaryPrimitives.WriteInt32LittleEndian(request[GpioAbi.RequestLineCount..], 1);
        "diagnose"u8.CopyTo(request[GpioAbi.RequestConsumer..]);
        var error = kernel.Control(chip.Descriptor, GpioAbi.GetLine, request);
        if (error != 0)
        {
            problem = GpioErrors.Of(error);
            return null;
        }

        var line = new GpioLine(kernel, BinaryPrimitives.ReadInt32LittleEndian(request[GpioAbi.RequestDescriptor..]), isActiveLow: false);
        var level = line.Level();
        line.Release();
        problem = level is null ? "the chip does not answer" : "";
        return level;
    }

    /// <summary>The level now; null when the chip does not answer.</summary>
    public bool? Level()
    {
        BinaryPrimitives.WriteUInt64LittleEndian(_values.AsSpan(GpioAbi.ValuesBits), 0);
        BinaryPrimitives.WriteUInt64LittleEndian(_values.AsSpan(GpioAbi.ValuesMask), 1);
        return _kernel.Control(Descriptor, GpioAbi.GetValues, _values) != 0
            ? null
            : (BinaryPrimitives.ReadUInt64LittleEndian(_values.AsSpan(GpioAbi.ValuesBits)) & 1) != 0;
    }

    /// <summary>Makes a line that is held as found an output of this level, in one step; false when the chip does not answer or has no such output.</summary>
    public bool MakeOutput(bool on)
    {
        FillConfig(_config, new GpioLineSettings(IsOutput: true, _isActiveLow, GpioBias.AsIs, InitialOn: on));
        return _kernel.Control(Descriptor, GpioAbi.SetConfig, _config) == 0;
    }

    /// <summary>Sets an output; false when the chip does not answer.</summary>
    public bool Set(bool on)
    {
        BinaryPrimitives.WriteUInt64LittleEndian(_values.AsSpan(GpioAbi.ValuesBits), on ? 1UL : 0);
        BinaryPrimitives.WriteUInt64LittleEndian(_values.AsSpan(GpioAbi.ValuesMask), 1);
        return _kernel.Control(Descriptor, GpioAbi.SetValues, _values) == 0;
    }

    /// <summary>Reads queued edges, the oldest first. Call it only when the descriptor is readable.</summary>
    /// <param name="edges">Where they go.</param>
    /// <returns>How many; -1 when the chip does not answer.</returns>
    public int ReadEdges(Span<GpioEdge> edges)
    {
        var most = Math.Min(edges.Length, EventsPerRead) * GpioAbi.EventSize;
        var bytes = _kernel.Read(Descriptor, _events.AsSpan(0, most));
        if (bytes < 0)
        {
            return -1;
        }

        var count = bytes / GpioAbi.EventSize;
        for (var i = 0; i < count; i++)
        {
            var told = _events.AsSpan(i * GpioAbi.EventSize, GpioAbi.EventSize);
            edges[i] = new GpioEdge(
                TimeSpan.FromTicks((long)(BinaryPrimitives.ReadUInt64LittleEndian(told[GpioAbi.EventTime..]) / NanosecondsPerTick)),
                BinaryPrimitives.ReadUInt32LittleEndian(told[GpioAbi.EventId..]) == GpioAbi.EventRising,
                BinaryPrimitives.ReadUInt32LittleEndian(told[GpioAbi.EventLineSequence..]));
        }

        return count;
    }

    /// <summary>Gives the line back.</summary>
    public void Release() => _kernel.Close(Descriptor);

    private static void Fill(Span<byte> request, int offset, in GpioLineSettings settings, ReadOnlySpan<byte> consumer)
    {
        request.Clear();
        BinaryPrimitives.WriteInt32LittleEndian(request[GpioAbi.RequestOffsets..], offset);
        consumer[..Math.Min(consumer.Length, GpioAbi.NameSize - 1)].CopyTo(request[GpioAbi.RequestConsumer..]);
        BinaryPrimitives.WriteInt32LittleEndian(request[GpioAbi.RequestLineCount..], 1);
        BinaryPrimitives.WriteInt32LittleEndian(request[GpioAbi.RequestEventBufferSize..], settings.IsOutput || settings.IsAsFound ? 0 : QueuedEvents);
        FillConfig(request.Slice(GpioAbi.RequestConfig, GpioAbi.ConfigSize), settings);
    }

    private static void FillConfig(Span<byte> config, in GpioLineSettings settings)
    {
        config.Clear();
        BinaryPrimitives.WriteUInt64LittleEndian(config[GpioAbi.ConfigFlags..], Flags(settings));
        if (settings.IsOutput)
        {
            // Without it an output would begin at 0 and be set a moment later.
            BinaryPrimitives.WriteInt32LittleEndian(config[GpioAbi.ConfigAttributeCount..], 1);
            var attribute = config[GpioAbi.ConfigAttributes..];
            BinaryPrimitives.WriteUInt32LittleEndian(attribute[GpioAbi.AttributeId..], GpioAbi.AttributeOutputValues);
            BinaryPrimitives.WriteUInt64LittleEndian(attribute[GpioAbi.AttributeValue..], settings.InitialOn ? 1UL : 0);
            BinaryPrimitives.WriteUInt64LittleEndian(attribute[GpioAbi.AttributeMask..], 1);
        }
    }

    private static ulong Flags(in GpioLineSettings settings) =>
        (settings.IsAsFound ? 0 : settings.IsOutput ? GpioAbi.FlagOutput : GpioAbi.FlagInput | GpioAbi.FlagEdgeRising | GpioAbi.FlagEdgeFalling)
        | (settings.ActiveLow ? GpioAbi.FlagActiveLow : 0)
        | (settings.Bias switch
        {
            GpioBias.PullUp => GpioAbi.FlagPullUp,
            GpioBias.PullDown => GpioAbi.FlagPullDown,
            GpioBias.Disabled => GpioAbi.FlagBiasDisabled,
            _ => 0,
        });
}
