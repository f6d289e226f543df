using System.Buffers.Binary;
using System.Text;
using Supervisor.Bus.Gpio;

namespace Supervisor.Bus.Tests.Gpio;

/// <summary>A kernel that speaks the bytes of linux/gpio.h version 2: chips with labels, lines with names, requests, edges in queues of their own.</summary>
internal sealed class StandInKernel : IGpioKernel
{
    public const int Busy = -16;
    public const int NoDevice = -19;
    public const int Invalid = -22;
    private readonly Dictionary<int, object> _open = [];
    private int _next = 100;

    public Dictionary<string, Chip> Chips { get; } = [];

    public int OpenDescriptors => _open.Count;

    public Chip AddChip(string device, string label, int lines)
    {
        var chip = new Chip(label, lines);
        Chips[device] = chip;
        return chip;
    }

    public IReadOnlyList<string> Devices() => [.. Chips.Keys];

    public int Open(string device)
    {
        if (!Chips.TryGetValue(device, out var chip))
        {
            return -2;
        }

        _open[++_next] = chip;
        return _next;
    }

    public int Control(int descriptor, uint request, Span<byte> argument)
    {
        if (!_open.TryGetValue(descriptor, out var what))
        {
            return -9;
        }

        // The numbers as linux/gpio.h's macros make them: direction, size, B4h, number.
        return (request, what) switch
        {
            (0x8044B401, Chip chip) when argument.Length == 68 => ChipInfo(chip, argument),
            (0xC100B405, Chip chip) when argument.Length == 256 => LineInfo(chip, argument),
            (0xC250B407, Chip chip) when argument.Length == 592 => Request(chip, argument),
            (0xC110B40D, Line line) when argument.Length == 272 => SetConfig(line, argument),
            (0xC010B40E, Line line) when argument.Length == 16 => GetValues(line, argument),
            (0xC010B40F, Line line) when argument.Length == 16 => SetValues(line, argument),
            _ => -25,
        };
    }

    public int Read(int descriptor, Span<byte> into)
    {
        var line = (Line)_open[descriptor];
        if (line.Chip.IsGone)
        {
            return NoDevice;
        }

        Assert.NotEmpty(line.Events); // a real one would block here
        var count = 0;
        while (line.Events.Count > 0 && into.Length - count >= 48)
        {
            line.Events.Dequeue().CopyTo(into[count..]);
            count += 48;
        }

        return count;
    }

    public void Wait(ReadOnlySpan<int> descriptors, Span<GpioReadiness> states, TimeSpan timeout)
    {
        for (var i = 0; i < descriptors.Length; i++)
        {
            states[i] = descriptors[i] < 0 || !_open.TryGetValue(descriptors[i], out var what) || what is not Line line ? GpioReadiness.Quiet
                : line.Chip.IsGone ? GpioReadiness.Broken
                : line.Events.Count > 0 ? GpioReadiness.Readable : GpioReadiness.Quiet;
        }
    }

    public void Close(int descriptor)
    {
        Assert.True(_open.Remove(descriptor, out var what));
        if (what is Line line)
        {
            line.Consumer = "";

            // The direction stays, and so does the level: what most drivers do with a line nobody holds.
            line.Flags &= 8;
        }
    }

    private static int ChipInfo(Chip chip, Span<byte> info)
    {
        Put(info[..32], "gpiochip9");
        Put(info[32..64], chip.Label);
        BinaryPrimitives.WriteInt32LittleEndian(info[64..], chip.Lines.Length);
        return chip.IsGone ? NoDevice : 0;
    }

    private static int LineInfo(Chip chip, Span<byte> info)
    {
        var offset = BinaryPrimitives.ReadInt32LittleEndian(info[64..]);
        if (offset >= chip.Lines.Length)
        {
            return Invalid;
        }

        var line = chip.Lines[offset];
        Put(info[..32], line.Name);
        Put(info[32..64], line.Consumer);
        BinaryPrimitives.WriteUInt64LittleEndian(info[72..], (line.Consumer.Length > 0 ? 1UL : 0) | (line.IsOutput || line.Direction ? 8UL : 4UL));
        return 0;
    }

    private int Request(Chip chip, Span<byte> request)
    {
        Assert.Equal(1, BinaryPrimitives.ReadInt32LittleEndian(request[560..]));
        var offset = BinaryPrimitives.ReadInt32LittleEndian(request);
        if (chip.IsGone)
        {
            return NoDevice;
        }

        if (offset >= chip.Lines.Length)
        {
            return Invalid;
        }

        var line = chip.Lines[offset];
        if (line.Consumer.Length > 0)
        {
            return Busy;
        }

        line.Consumer = Encoding.UTF8.GetString(request[256..288]).TrimEnd('\0');
        Configure(line, request[288..560]);
        line.Events.Clear();
        line.Sequence = 0;
        _open[++_next] = line;
        BinaryPrimitives.WriteInt32LittleEndian(request[588..], _next);
        return 0;
    }

    private static int SetConfig(Line line, Span<byte> config)
    {
        if (line.Chip.IsGone)
        {
            return NoDevice;
        }

        Configure(line, config);
        return 0;
    }

    /// <summary>Neither direction asked for: the line stays as it is.</summary>
    private static void Configure(Line line, ReadOnlySpan<byte> config)
    {
        var flags = BinaryPrimitives.ReadUInt64LittleEndian(config);
        line.Flags = (flags & 12) == 0 ? flags | (line.Flags & 8) : flags;
        if ((flags & 8) != 0 && BinaryPrimitives.ReadInt32LittleEndian(config[8..]) == 1)
        {
            // One attribute: output values, for line 0 of the request.
            Assert.Equal((2u, 1UL), (BinaryPrimitives.ReadUInt32LittleEndian(config[32..]), BinaryPrimitives.ReadUInt64LittleEndian(config[48..])));
            line.Put((BinaryPrimitives.ReadUInt64LittleEndian(config[40..]) & 1) != 0);
        }
    }

    private static int GetValues(Line line, Span<byte> values)
    {
        // No assertion here: those allocate, and what calls this must not.
        if (BinaryPrimitives.ReadUInt64LittleEndian(values[8..]) != 1)
        {
            return Invalid;
        }

        BinaryPrimitives.WriteUInt64LittleEndian(values, line.IsActive ? 1UL : 0);
        return line.Chip.IsGone ? NoDevice : 0;
    }

    private static int SetValues(Line line, Span<byte> values)
    {
        if (line.Chip.IsGone)
        {
            return NoDevice;
        }

        if (!line.IsOutput)
        {
            return -1;
        }

        line.Put((BinaryPrimitives.ReadUInt64LittleEndian(values) & 1) != 0);
        return 0;
    }

    private static void Put(Span<byte> field, string text)
    {
        field.Clear();
        Encoding.UTF8.GetBytes(text, field);
    }

    internal sealed class Chip
    {
        public Chip(string label, int lines)
        {
            Label = label;
            Lines = [.. Enumerable.Range(0, lines).Select(offset => new Line(this, offset))];
        }

        public string Label { get; }

        public Line[] Lines { get; }

        public bool IsGone { get; set; }
    }

    internal sealed class Line(Chip chip, int offset)
    {
        public Chip Chip { get; } = chip;

        public string Name { get; set; } = "";

        public string Consumer { get; set; } = "";

        public ulong Flags { get; set; }

        /// <summary>Nobody holds it, and it is an output all the same: as the board's firmware left it.</summary>
        public bool Direction { get; set; }

        public uint Sequence { get; set; }

        public Queue<byte[]> Events { get; } = new();

        /// <summary>Level on the wire.</summary>
        public bool Wire { get; set; }

        public bool IsOutput => (Flags & 8) != 0;

        public bool IsActive => Wire ^ ((Flags & 2) != 0);

        /// <summary>Levels the line was given as an output, in order.</summary>
        public List<bool> Given { get; } = [];

        /// <summary>The wire does not follow: shorted, or pulled by another.</summary>
        public bool IsStuck { get; set; }

        public void Put(bool active)
        {
            Given.Add(active);
            Wire = IsStuck ? Wire : active ^ ((Flags & 2) != 0);
        }

        /// <summary>The wire changes: an edge in the kernel's queue, or only in its count when the queue overflows.</summary>
        public void Change(bool wire, TimeSpan at, bool isLost = false)
        {
            Wire = wire;
            Sequence++;
            var told = new byte[48];
            BinaryPrimitives.WriteInt64LittleEndian(told, at.Ticks * 100);
            BinaryPrimitives.WriteUInt32LittleEndian(told.AsSpan(8), IsActive ? 1u : 2u);
            BinaryPrimitives.WriteInt32LittleEndian(told.AsSpan(12), offset);
            BinaryPrimitives.WriteUInt32LittleEndian(told.AsSpan(16), Sequence);
            BinaryPrimitives.WriteUInt32LittleEndian(told.AsSpan(20), Sequence);
            if (!isLost)
            {
                Events.Enqueue(told);
            }
        }
    }
}
