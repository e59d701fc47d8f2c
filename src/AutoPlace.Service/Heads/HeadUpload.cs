using System.Globalization;
using AutoPlace.Import;
using AutoPlace.Service.Hosting;
using AutoPlace.Service.Storage;
using Microsoft.AspNetCore.WebUtilities;
using Microsoft.Net.Http.Headers;

namespace AutoPlace.Service.Heads;

/// <summary>
/// Takes an uploaded file to the disk as it comes in, then reads it: what it is, its contents say. A file that can't be read
/// leaves nothing behind.
/// </summary>
internal sealed class HeadUpload(ServiceStore store, HeadStore heads, ServiceOptions options, ServiceMetrics metrics) : IDisposable
{
    /// <summary>Files read at the same time: a large one takes several times its size in memory while it is read.</summary>
    private const int MostReading = 2;

    /// <summary>Longest name that is kept.</summary>
    private const int MostNameLength = 200;

    private const int ChunkBytes = 1 << 16;

    private readonly SemaphoreSlim _reading = new(MostReading);

    /// <summary>Keeps the file of a multipart request.</summary>
    /// <exception cref="RequestRefused">The request has no file, or one that is too large.</exception>
    /// <exception cref="MeshFormatException">The file can't be read.</exception>
    public async Task<Head> ReceiveAsync(HttpRequest request, CancellationToken cancellation)
    {
        (string name, Stream body) = await FileOf(request, cancellation);
        return await KeepAsync(name, body, cancellation);
    }

    /// <summary>Keeps a file.</summary>
    /// <param name="name">Its name, without folder.</param>
    /// <param name="body">Its contents, read once.</param>
    /// <param name="cancellation">Stops it.</param>
    /// <exception cref="RequestRefused">It is too large.</exception>
    /// <exception cref="MeshFormatException">It can't be read.</exception>
    public async Task<Head> KeepAsync(string name, Stream body, CancellationToken cancellation)
    {
        FileStream file = store.Files.Create();
        bool kept = false;
        try
        {
            await Copy(body, file, cancellation);
            await _reading.WaitAsync(cancellation);
            try
            {
                file.Position = 0;
                HeadScan scan = MeshReader.Read(file, name);
                Head head = heads.Add(file, scan);
                kept = true;
                metrics.Uploaded(true);
                return head;
            }
            catch (MeshFormatException)
            {
                metrics.Uploaded(false);
                throw;
            }
            finally
            {
                _reading.Release();
            }
        }
        finally
        {
            await file.DisposeAsync();
            if (!kept)
            {
                File.Delete(file.Name);
            }
        }
    }

    /// <inheritdoc/>
    public void Dispose() => _reading.Dispose();

    private async Task Copy(Stream from, FileStream to, CancellationToken cancellation)
    {
        byte[] chunk = new byte[ChunkBytes];
        for (int read; (read = await from.ReadAsync(chunk, cancellation)) > 0;)
        {
            if (to.Position + read > options.MostHeadBytes)
            {
                throw TooLarge();
            }

            await to.WriteAsync(chunk.AsMemory(0, read), cancellation);
        }

        await to.FlushAsync(cancellation);
    }

    private async Task<(string Name, Stream Body)> FileOf(HttpRequest request, CancellationToken cancellation)
    {
        if (!MediaTypeHeaderValue.TryParse(request.ContentType, out MediaTypeHeaderValue? type)
            || !type.MediaType.Equals("multipart/form-data", StringComparison.OrdinalIgnoreCase)
            || HeaderUtilities.RemoveQuotes(type.Boundary).Value is not { Length: > 0 and <= 100 } boundary)
        {
            throw new RequestRefused(StatusCodes.Status415UnsupportedMediaType, "A head is sent as multipart/form-data, in the field 'file'.");
        }

        if (request.ContentLength > options.MostHeadBytes + ChunkBytes)
        {
            throw TooLarge();
        }

        var reader = new MultipartReader(boundary, request.Body) { HeadersCountLimit = 8, HeadersLengthLimit = 4096 };
        while (await reader.ReadNextSectionAsync(cancellation) is { } section)
        {
            if (ContentDispositionHeaderValue.TryParse(section.ContentDisposition, out ContentDispositionHeaderValue? disposition)
                && disposition.Name == "file" && (disposition.FileNameStar.HasValue || disposition.FileName.HasValue))
            {
                string? name = (disposition.FileNameStar.HasValue ? disposition.FileNameStar : HeaderUtilities.RemoveQuotes(disposition.FileName)).Value;
                return (PlainName(name), section.Body);
            }
        }

        throw new RequestRefused(StatusCodes.Status400BadRequest, "The request has no file in its field 'file'.") { Element = "file" };
    }

    /// <summary>A name without folders, control characters and excess, for people to read; the extension stays.</summary>
    internal static string PlainName(string? name)
    {
        string last = (name ?? string.Empty).Split('/', '\\')[^1];
        string plain = new([.. last.Where(c => !char.IsControl(c) && !char.IsSurrogate(c) && CharUnicodeInfo.GetUnicodeCategory(c) != UnicodeCategory.Format)]);
        plain = plain.Trim();
        plain = plain.Length <= MostNameLength ? plain : plain[..(MostNameLength - 10)] + plain[^10..];
        return plain is "" or "." or ".." ? "head" : plain;
    }

    private RequestRefused TooLarge() => new(
        StatusCodes.Status413PayloadTooLarge, string.Create(CultureInfo.InvariantCulture, $"A head's file may have {options.MostHeadBytes} bytes."));
}
