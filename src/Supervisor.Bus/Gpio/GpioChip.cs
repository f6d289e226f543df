using System.Buffers.Binary;
using System.Globalization;
using System.Text;

namespace Supervisor.Bus.Gpio;

/// <summary>A GPIO chip, open. Chips are found by their label: their numbers change from one start of the machine to the next.</summary>
public sealed class GpioChip : IDisposable
{
    private readonly IGpioKernel _kernel;

    private GpioChip(IGpioKernel kernel, int descriptor, string device, string label, int lines)
    {
        (_kernel, Descriptor, Device, Label, Lines) = (kernel, descriptor, device, label, lines);
    }

    /// <summary>Its device node.</summary>
    public string Device { get; }

    /// <summary>Its label.</summary>
    public string Label { get; }

    /// <summary>Lines it has.</summary>
    public int Lines { get; }

    internal int Descriptor { get; }

    /// <summary>Opens the chip with a label; null when there is none, or two.</summary>
    /// <param name="kernel">The system calls.</param>
    /// <param name="label">Label, whole.</param>
    /// <param name="problem">What is wrong and what to do; empty when it is open.</param>
    public static GpioChip? Open(IGpioKernel kernel, string label, out string problem)
    {
        ArgumentNullException.ThrowIfNull(kernel);
        GpioChip? found = null;
        var others = new List<string>();
        var refused = "";
        foreach (var device in kernel.Devices())
        {
            if (TryOpen(kernel, device, out var error) is not { } chip)
            {
                refused = $"; {device} can't be opened ({GpioErrors.Of(error)})";
            }
            else if (chip.Label != label)
            {
                others.Add(chip.Label);
                chip.Dispose();
            }
            else if (found is null)
            {
                found = chip;
            }
            else
            {
                problem = $"two GPIO chips have the label \"{label}\" ({found.Device} and {chip.Device}): which is meant can't be told";
                chip.Dispose();
                found.Dispose();
                return null;
            }
        }

        problem = found is not null ? ""
            : others.Count == 0 ? $"no GPIO chip is to be seen{refused}: the board has none, its driver is not loaded, or this user may not open it"
            : $"no GPIO chip with the label \"{label}\"; there are {string.Join(", ", others.Select(each => $"\"{each}\""))}{refused}";
        return found;
    }

    /// <summary>What the kernel tells of a line; null when it has no such line.</summary>
    public GpioLineInfo? Line(int offset)
    {
        Span<byte> info = stackalloc byte[GpioAbi.LineInfoSize];
        info.Clear();
        BinaryPrimitives.WriteInt32LittleEndian(info[GpioAbi.LineInfoOffset..], offset);
        return offset >= Lines || _kernel.Control(Descriptor, GpioAbi.GetLineInfo, info) != 0 ? null : new GpioLineInfo(
            offset, Name(info[GpioAbi.LineInfoName..]), Name(info[GpioAbi.LineInfoConsumer..]),
            (BinaryPrimitives.ReadUInt64LittleEndian(info[GpioAbi.LineInfoFlags..]) & GpioAbi.FlagUsed) != 0,
            (BinaryPrimitives.ReadUInt64LittleEndian(info[GpioAbi.LineInfoFlags..]) & GpioAbi.FlagOutput) != 0);
    }

    /// <summary>Offset of a line that is given by offset or by name.</summary>
    /// <param name="line">Digits, or a name.</param>
    /// <param name="problem">What is wrong; empty when it was found.</param>
    public int? Find(string line, out string problem)
    {
        if (int.TryParse(line, NumberStyles.None, CultureInfo.InvariantCulture, out var offset))
        {
            problem = offset < Lines ? "" : $"chip \"{Label}\" has {Lines} lines, 0 to {Lines - 1}";
            return offset < Lines ? offset : null;
        }

        int? found = null;
        for (var i = 0; i < Lines; i++)
        {
            if (Line(i)?.Name == line)
            {
                if (found is not null)
                {
                    problem = $"two lines of chip \"{Label}\" are named \"{line}\" ({found} and {i}): give the offset";
                    return null;
                }

                found = i;
            }
        }

        problem = found is null ? $"no line of chip \"{Label}\" is named \"{line}\"" : "";
        return found;
    }

    /// <inheritdoc/>
    public void Dispose() => _kernel.Close(Descriptor);

    private static GpioChip? TryOpen(IGpioKernel kernel, string device, out int error)
    {
        var descriptor = kernel.Open(device);
        error = Math.Min(descriptor, 0);
        if (descriptor < 0)
        {
            return null;
        }

        Span<byte> info = stackalloc byte[GpioAbi.ChipInfoSize];
        info.Clear();
        error = kernel.Control(descriptor, GpioAbi.GetChipInfo, info);
        if (error != 0)
        {
            kernel.Close(descriptor);
            return null;
        }

        return new GpioChip(
            kernel, descriptor, device, Name(info[GpioAbi.ChipInfoLabel..]), BinaryPrimitives.ReadInt32LittleEndian(info[GpioAbi.ChipInfoLines..]));
    }

    private static string Name(ReadOnlySpan<byte> field)
    {
        var name = field[..GpioAbi.NameSize];
        var end = name.IndexOf((byte)0);
        return Encoding.UTF8.GetString(end < 0 ? name : name[..end]);
    }
}

/// <summary>What the kernel tells of a line.</summary>
/// <param name="Offset">Number on its chip.</param>
/// <param name="Name">Its name; empty when it has none.</param>
/// <param name="Consumer">Who holds it; empty when nobody says so.</param>
/// <param name="IsUsed">True while somebody holds it.</param>
/// <param name="IsOutput">True while it is an output, held or not.</param>
public readonly record struct GpioLineInfo(int Offset, string Name, string Consumer, bool IsUsed, bool IsOutput);
