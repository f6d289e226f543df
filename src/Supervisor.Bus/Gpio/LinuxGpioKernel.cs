using System.Runtime.InteropServices;
using System.Runtime.Versioning;
using Supervisor.Bus.Links;

namespace Supervisor.Bus.Gpio;

/// <summary>The kernel itself.</summary>
/// <remarks>Layouts and numbers are checked against linux/gpio.h; tried against a stand-in only, on no real or simulated chip.</remarks>
[SupportedOSPlatform("linux")]
public sealed partial class LinuxGpioKernel : IGpioKernel
{
    private const int MostDescriptors = 256;
    private const string Folder = "/dev";

    /// <inheritdoc/>
    public IReadOnlyList<string> Devices() => LinuxNative.IsKnownArchitecture
        ? [.. Directory.EnumerateFiles(Folder, "gpiochip*").Order(StringComparer.Ordinal)]
        : [];

    /// <inheritdoc/>
    public int Open(string device)
    {
        var descriptor = LinuxNative.Open(device, LinuxNative.O_RDWR | LinuxNative.O_CLOEXEC);
        return descriptor >= 0 ? descriptor : -Marshal.GetLastPInvokeError();
    }

    /// <inheritdoc/>
    public unsafe int Control(int descriptor, uint request, Span<byte> argument)
    {
        fixed (byte* bytes = argument)
        {
            int result;
            do
            {
                result = Ioctl(descriptor, request, bytes);
            }
            while (result < 0 && Marshal.GetLastPInvokeError() == LinuxNative.EINTR);
            return result >= 0 ? 0 : -Marshal.GetLastPInvokeError();
        }
    }

    /// <inheritdoc/>
    public unsafe int Read(int descriptor, Span<byte> into)
    {
        fixed (byte* bytes = into)
        {
            var count = ReadRaw(descriptor, bytes, (nuint)into.Length);
            return count >= 0 ? (int)count : -Marshal.GetLastPInvokeError();
        }
    }

    /// <inheritdoc/>
    public unsafe void Wait(ReadOnlySpan<int> descriptors, Span<GpioReadiness> states, TimeSpan timeout)
    {
        ArgumentOutOfRangeException.ThrowIfGreaterThan(descriptors.Length, MostDescriptors);
        var polled = stackalloc LinuxNative.PollDescriptor[Math.Max(descriptors.Length, 1)];
        for (var i = 0; i < descriptors.Length; i++)
        {
            polled[i] = new LinuxNative.PollDescriptor { Descriptor = descriptors[i], Events = LinuxNative.POLLIN };
        }

        var time = LinuxNative.TimeSpec.From(timeout);
        var found = LinuxNative.PPoll(polled, (nuint)descriptors.Length, &time, 0);
        for (var i = 0; i < descriptors.Length; i++)
        {
            // An interrupted or failed wait has seen nothing: the levels are read all the same.
            var happened = found > 0 && descriptors[i] >= 0 ? polled[i].Happened : (short)0;
            states[i] = (happened & LinuxNative.POLLIN) != 0 ? GpioReadiness.Readable : happened != 0 ? GpioReadiness.Broken : GpioReadiness.Quiet;
        }
    }

    /// <inheritdoc/>
    public void Close(int descriptor) => _ = CloseRaw(descriptor);

    [LibraryImport("libc", EntryPoint = "ioctl", SetLastError = true)]
    private static unsafe partial int Ioctl(int descriptor, nuint request, byte* argument);

    [LibraryImport("libc", EntryPoint = "read", SetLastError = true)]
    private static unsafe partial nint ReadRaw(int descriptor, byte* into, nuint count);

    [LibraryImport("libc", EntryPoint = "close")]
    private static partial int CloseRaw(int descriptor);
}
